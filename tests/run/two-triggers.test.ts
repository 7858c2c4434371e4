/** Rigs with several stacks or several triggers: each figure stands where it belongs, once. */
import { describe, expect, it } from 'vitest';
import { timingTable } from '../../server/core/report/timing-table';
import { flowTable } from '../../server/core/report/flow-table';
import { analyseRig } from '../../server/core/run/analyse';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import { messagesOf } from '../checks/rigs';
import { rigOf } from '../support/rigs';

const facts = (text: string) => analyseRig(rigOf(text));
const count = (text: string, what: RegExp): number => (text.match(new RegExp(what, 'g')) ?? []).length;

/** Two pairs of doors; `second` is what moves the second pair. */
const rig = (second: string, hold = '6 s'): string =>
  `rig yard {
  medium air
  chamber intake { volume 2 m3  pressure 1.6 bar }
  chamber lock   { volume 20 L  pressure 1 bar }
  chamber middle { volume 500 L pressure 1 bar }
  chamber gate   { volume 10 L  pressure 1 bar }
  chamber store  { volume 300 L pressure 1 bar }
  door a { travel 200 ms  power moving 300 W }
  door b { travel 200 ms  power moving 300 W }
  door c { travel 200 ms }
  door d { travel 200 ms }
  stack intake > a > lock > b > middle
  stack middle > c > gate > d > store
  feed blower into intake { rate 5 g/s  only below 1.6 bar }
  draw tools from store { rate 1 g/s  only above 1.05 bar }
  controller { response 20 ms }
  sensor ready on intake { pressure above 1.4 bar  clears below 1.2 bar }
  sensor up on middle    { pressure above 1.1 bar  clears below 1.05 bar }
  signal s1   = ready and not h1
  signal a_on = TOF(s1, 1 s)
  signal b_on = TOF(TON(s1, 1.6 s), 1 s)
  signal h1   = TOF(a_on, 4 s)
  signal s2   = ${second}
  signal c_on = TP(s2, 1 s)
  signal d_on = TP(TON(s2, 1.6 s), 1 s)
  drive a = a_on
  drive b = TP(TON(a_on, 1.4 s), 1 s)
  drive c = c_on
  drive d = TP(TON(TOF(c_on, 2 s), 1.6 s), 1 s)
}`
    .replace(/ {2}signal [bd]_on .*\n/g, '')
    .replace('4 s)', `${hold})`);

describe('a second stack that the stroke leaves alone', () => {
  const text = flowTable(facts(rig('up and not up'))).join('\n');
  it('has no row, no ceiling and no doors in its tables', () => {
    expect(text).toMatch(/intake +middle +[-\d]/);
    expect(count(text, /middle +store/)).toBe(0);
    expect(text).not.toContain('Ceiling of store');
    expect(text).not.toMatch(/^ +[cd] +-/m);
  });
});

describe('two triggers', () => {
  const all = facts(
    rig('run')
      .replace('  signal s1', '  switch run = off\n  signal s1')
      .replace('ready and not h1', '(ready or run) and not h1'),
  );
  const text = flowTable(all).join('\n');
  it('each stroke has the keep-up of what it empties, and energy of the run stands once', () => {
    expect(count(text, /Means over \d+ strokes? \(.*\) at the working point/)).toBeLessThanOrEqual(1);
    const idle = all.flow!.strokes.filter((stroke) => stroke.gains[0] === 0);
    const fed = all.flow!.strokes.filter((stroke) => stroke.gains[0] !== 0);
    expect(fed.length).toBeGreaterThan(0);
    for (const stroke of idle) expect(stroke.keepUp).toBeNull();
    for (const stroke of fed) expect(stroke.keepUp!.feed).toBeCloseTo(0.005, 9);
  });
});

it('a rig whose parts go on at intervals of their own is not said to stand still', () => {
  const { flow } = facts(
    rig('up and not h2').replace('  signal c_on', '  signal h2   = TOF(c_on, 4.33 s)\n  signal c_on'),
  );
  expect(flow!.filling!.ended).not.toBe('stopped');
});

describe('two stages with triggers of their own', () => {
  const pump = (n: number, from: string, to: string, pocket: string): string => `
  door a${n} { pocket ${pocket}  travel 200 ms }
  door b${n} { pocket ${pocket}  travel 200 ms }
  door c${n} { pocket ${pocket}  travel 200 ms }
  stack ${from} > a${n} > b${n} > c${n} > ${to}
  signal start${n} = ready${n} and not hold${n}
  signal a${n}_on = TOF(start${n}, 1.2 s)
  signal b${n}_on = TOF(start${n}, 2.1 s)
  signal c${n}_on = TOF(TON(b${n}_on, 1.7 s), 900 ms)
  signal hold${n} = TOF(b${n}_on, 4 s)
  drive a${n} = a${n}_on
  drive b${n} = b${n}_on
  drive c${n} = c${n}_on`;
  const stages = `rig booster {
  medium nitrogen
  chamber intake { volume 500 L  pressure 2 bar }
  chamber middle { volume 100 L  pressure 2 bar }
  chamber store  { volume 50 L   pressure 2 bar }
  feed line into intake { rate 50 Nm3/h  only below 3 bar }
  controller { response 20 ms }
  sensor ready1 on intake { pressure above 2.5 bar  clears below 2.2 bar }
  sensor ready2 on middle { pressure above 5 bar  clears below 4 bar }${pump(1, 'intake', 'middle', '10 L')}${pump(2, 'middle', 'store', '3 L')}
}`;
  const both = facts(stages);
  const text = flowTable(both).join('\n');
  const [, second] = both.flow!.strokes;

  it.each([
    ['the first', 'chamber intake { volume 500 L  pressure 2.6 bar }', 'ready2'],
    ['the second', 'chamber middle { volume 100 L  pressure 5.5 bar }', 'ready1'],
  ])('both are timed where the contents at the start trip %s of them', (_, chamber, other) => {
    const started = facts(stages.replace(new RegExp(`${chamber.slice(0, 14)} .*`), chamber));
    expect(started.timing.atRest.moves).toBe(true);
    const doorsOf = ({ timing }: typeof both) =>
      new Map(timing.strokes.map(({ trigger, becomes, doors }) => [`${trigger.name} ${becomes}`, doors]));
    // Each stage has the times that it has where nothing is on at the start: they share no signal.
    expect(doorsOf(started)).toEqual(doorsOf(both));
    expect(timingTable(started).join('\n')).toMatch(
      new RegExp(`Trigger: ${other} goes on.* is off, so that the rig is at rest`),
    );
    // A path straight through is found in the one stage and in the other.
    const text = stages.replace(new RegExp(`${chamber.slice(0, 14)} .*`), chamber);
    const messages = messagesOf(
      text.replace(/signal c(\d)_on = .*/g, 'signal c$1_on = a$1_on'),
      'door/straight-through',
    );
    expect(messages.map((m) => m.slice(0, 2)).sort()).toEqual(['a1', 'a2']);
  });

  it('one stage does not answer for what the other takes out of the chamber between them', () => {
    expect(both.flow!.strokes.map(({ stacks }) => stacks.map((s) => s.stack))).toEqual([[0], [1]]);
    expect(second!.gains[1]).toBeLessThan(0);
    expect(count(text, /intake +middle +[-\d]/)).toBe(1);
    expect(count(text, /middle +store +[-\d]/)).toBe(1);
    expect(messagesOf(stages, 'flow/reverse')).toEqual([]);
  });

  it('metrics of a chamber are about the strokes that have to do with it', () => {
    const state = (requirement: string): string => {
      const judged = facts(stages.replace('  drive a1', `  require ${requirement}\n  drive a1`));
      return evaluateRequirement(judged, judged.rig.requirements[0]!).state;
    };
    expect(state('stroke_mass(store) >= 1 mg')).toBe('met');
    expect(state('rate(store) >= 1 g/min')).toBe('met');
    expect(state('ceiling(store) >= 2.1 bar')).not.toBe('failed');
    expect(state('stroke_mass(store) >= 1 kg')).toBe('failed');
  });
});
