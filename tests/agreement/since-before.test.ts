/** What was so before the trigger came: no output gives it a moment or a length that it has not; and what a `never` forbids between doors. */
import { describe, expect, it } from 'vitest';
import { timingModels } from '../../server/core/diagram/timing/model';
import { description } from '../../server/core/diagram/timing/svg';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import { forbidsTogether } from '../../server/core/model/intent';
import { sheetOf } from '../../server/core/report/sheet/sheet';
import { timingTable } from '../../server/core/report/timing-table';
import { analyseRig } from '../../server/core/run/analyse';
import { messagesOf } from '../checks/rigs';
import { rigOf } from '../support/rigs';

const drier = (body: string, controller = 'response 15 ms'): string => `rig drier {
  medium air
  chamber shaft { volume 3 m3  pressure 1.01325 bar }
  chamber drum  { volume 500 L  pressure 1.01325 bar }
  door flap  { pocket 30 L  travel 120 ms }
  door slide { pocket 30 L  travel 80 ms }
  stack shaft > flap > slide > drum
  controller { ${controller} }
${body}
}`;

const factsOf = (text: string) => analyseRig(rigOf(text));
const verdicts = (text: string) => {
  const facts = factsOf(text);
  return facts.rig.requirements.map((r) => evaluateRequirement(facts, r));
};

describe('a door that is open as the trigger comes', () => {
  const text = drier(`  switch hold = on
  drive flap = hold
  require window(flap) >= 1 s
  require open_time(flap) >= 1 s
  require open_time(flap) <= 1 s
  require opens_at(flap) >= 0 s
  require shuts_at(flap) = 120 ms`);

  it('has no moment at which it opens, and no length', () => {
    const [row] = timingTable(factsOf(text)).filter((line) => line.startsWith('  flap  '));
    expect(row!.trim().split(/\s{2,}/)).toEqual(['flap', '-', '-', 'before', 'before', '0 s', '120 ms', '-']);
    expect(verdicts(text).map((v) => v.state)).toEqual(['met', 'met', 'failed', 'failed', 'met']);
    expect(verdicts(text)[2]!.message).toContain('flap is off its seat until 120 ms');
    expect(verdicts(text)[3]!.message).toContain('there is no moment at which flap leaves its seat');
  });

  it('is not watched for opening in the sheet, and is described by what it does', () => {
    const sheet = JSON.stringify(sheetOf(factsOf(text)));
    expect(sheet).toContain('At 120 ms: flap is shut.');
    expect(sheet).not.toMatch(/flap (leaves its seat|is fully open)/);
    const [model] = timingModels(factsOf(text));
    expect(description(model!)).toContain('flap, closes 0 s, shut 120 ms. slide stays shut.');
  });
});

describe('a signal that is on as the trigger comes', () => {
  it('gives no pulse in the stroke', () => {
    const text = drier(`  sensor ready on shaft { pressure above 2 bar  clears below 1.6 bar }
  signal idle = not ready
  drive flap = TP(ready, 500 ms)
  require pulse(idle) >= 0 s`);
    expect(verdicts(text)[0]!.message).toContain('idle never comes on');
  });
});

describe('an opening that begins as the record ends', () => {
  it('is not listed', () => {
    const text = drier(
      `  sensor ready on shaft { pressure above 2 bar  clears below 1.6 bar }
  sequence work on ready {
    at 0 s     open flap
    at 900 ms  close flap
    repeat after 2 s
  }`,
      'scan 50 ms',
    );
    const [model] = timingModels(factsOf(text));
    const rows = model!.tables[0]!.rows.filter((r) => r.cells[0] === 'flap');
    expect(rows.length).toBeGreaterThan(0);
    expect(rows.filter((r) => r.cells[2] === '–' && r.cells[3] === '–')).toEqual([]);
  });
});

describe('a door that opens only when its switch goes back', () => {
  it.each([
    ['after the timer has run', 'TON(fill, 3 s) and not fill'],
    ['at the falling edge', 'F_TRIG(fill) and TOF(fill, 1 s)'],
    ['for the rest of an off-delay', 'TOF(fill, 1 s) and not fill'],
  ])('is not reported to never open: %s', (_, logic) => {
    const text = drier(`  switch fill = off
  drive flap  = fill
  drive slide = ${logic}`);
    expect(messagesOf(text, 'door/never-opens')).toEqual([]);
  });

  it('one that no operation opens is', () => {
    const text = drier(`  switch fill = off
  drive flap  = fill
  drive slide = fill and not fill`);
    expect(messagesOf(text, 'door/never-opens')).toEqual(['slide never opens: drive slide never comes on.']);
  });
});

describe('what a never says of two doors', () => {
  const rig = rigOf(
    drier(`  switch run = off
  drive flap = run
  drive slide = run
  require never(flap and slide)
  require never(flap and not slide)
  require never(flap xor slide)
  require never(flap and slide and run)
  require never(flap and slide or run)
  require never((flap or run) and slide)
  require never(not (not flap or not slide))`),
  );

  it('forbids them together only where it needs both', () => {
    const forbids = rig.requirements.map((r) => forbidsTogether(rig, r, 0, 1));
    expect(forbids).toEqual([true, false, false, true, false, false, true]);
  });

  it('is drawn as a fault only while it is broken', () => {
    const marks = (never: string) =>
      timingModels(
        factsOf(
          drier(`  switch run = off
  drive flap = run
  drive slide = TP(run, 500 ms)
  signal late = TON(run, 200 ms)
  require never(${never})`),
        ),
      )[0]!.marks.map((m) => `${m.verdict} ${m.from} ${m.to}`);
    // flap from 0 s; slide from 15 ms to 515 + 80 = 595 ms; late from 215 ms.
    expect(marks('flap and slide')).toEqual(['short 15000 595000']);
    expect(marks('flap and slide and late')).toEqual(['short 215000 595000']);
    expect(marks('flap and not slide')).toEqual(['wanted 15000 595000']);
  });

  it('asked of a scenario, it is not drawn in the stroke', () => {
    const text = drier(`  switch run = off
  drive flap = run
  drive slide = run
  require never(flap and slide) during quiet
  scenario quiet { at 1 s switch run on  for 2 s }`);
    const [stroke, scenario] = timingModels(factsOf(text));
    expect(stroke!.marks).toEqual([]);
    expect(scenario!.marks.map((m) => m.verdict)).toEqual(['short']);
  });
});

describe('how long a door stands fully open', () => {
  it('is not written into an opening that has no end', () => {
    const text = drier(`  switch run = off
  drive flap = run
  drive slide = TP(run, 500 ms)`);
    const [model] = timingModels(factsOf(text));
    const flap = model!.tables[0]!.rows.find((r) => r.cells[0] === 'flap')!;
    expect(flap.cells[5]).toBe('–');
  });
});
