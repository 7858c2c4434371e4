/** What is stated of a run that is cut off, of a door that never arrives, and of a rig that a latch starts: nothing that another output denies. */
import { describe, expect, it } from 'vitest';
import { timingModels } from '../../server/core/diagram/timing/model';
import { timingTable } from '../../server/core/report/timing-table';
import { analyseRig } from '../../server/core/run/analyse';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import { sheetOf } from '../../server/core/report/sheet/sheet';
import { proveRig } from '../../server/core/run/prove-rig';
import { formatTime } from '../../server/core/units/units';
import { look, messagesOf, problemsWith } from '../checks/rigs';
import { rigOf } from '../support/rigs';

const barn = (body: string, controller = 'response 15 ms', stack = 'loft > hatch > gate > silo'): string => `rig barn {
  medium air
  chamber loft { volume 3 m3  pressure 1.01325 bar }
  chamber silo { volume 500 L  pressure 1.01325 bar }
  door hatch { pocket 30 L  travel 120 ms }
  door gate  { pocket 30 L  travel 120 ms }
  stack ${stack}
  controller { ${controller} }
${body}
}`;

const factsOf = (text: string) => analyseRig(rigOf(text));
const table = (text: string): string => timingTable(factsOf(text)).join('\n');

describe('a door that never shuts between strokes', () => {
  // go 15 ms; hatch_on 30 ms .. 30 + 15 + 800 + 15 = 860 ms; back at 30 + 15 + 840 + 15 + 15 + 15 = 930 ms, 70 ms of 120 ms shut.
  const facts = factsOf(
    barn(`  sensor ready on loft { pressure above 2 bar  clears below 1.6 bar }
  signal go       = ready and not hold
  signal hatch_on = TOF(go, 800 ms)
  signal hold     = TOF(go, 840 ms)
  drive hatch = hatch_on
  drive gate  = TP(TON(ready, 2 s), 300 ms)
  require window(hatch) <= 1 s
  require closes_at(hatch) <= 1 s`),
  );

  it('has windows that end, and a moment at which it starts to close, as in the timing table', () => {
    const [stroke] = facts.timing.strokes;
    expect(stroke!.doors[0]!.windows[0]!.notShut.to).toBeNull();
    const closes = stroke!.doors[0]!.windows[0]!.fullyOpen!.to!;
    const [window, closesAt] = facts.rig.requirements.map((r) => evaluateRequirement(facts, r));
    expect(window).toMatchObject({ state: 'met' });
    expect(closesAt).toMatchObject({ state: 'met', actual: { nominal: closes } });
  });
});

describe('two doors that meet twice, one of them started again before it shuts', () => {
  // go at 15 ms, again every 2.06 s; gate_on comes at 330 ms and is wanted again 2.06 - 1.73 s = 330 ms after it would have begun to end.
  const text = barn(`  sensor ready on loft { pressure above 2 bar  clears below 1.6 bar }
  signal go       = ready and not hold
  signal hold     = TOF(go, 2 s)
  signal gate_on  = TOF(TON(hold, 300 ms), 500 ms)
  drive hatch = TOF(go, 700 ms)
  drive gate  = gate_on
  require overlap(hatch, gate) >= 100 ms`);
  const facts = factsOf(text);

  it('the table states the shortest time together, which the requirement is judged by', () => {
    const verdict = evaluateRequirement(facts, facts.rig.requirements[0]!);
    const [pair] = facts.timing.strokes[0]!.pairs;
    expect(verdict).toMatchObject({ actual: { nominal: pair!.leastOverlap } });
    expect(pair!.leastOverlap).toBeLessThan(pair!.overlap!);
    const row = `${formatTime(pair!.leastOverlap!)} to ${formatTime(pair!.overlap!)}`;
    expect(timingTable(facts).find((line) => line.includes('hatch, gate'))).toContain(row);
  });

  it('a wanted overlap does not excuse a gate that never shuts', () => {
    const found = messagesOf(text, 'cycle/overrun');
    expect(found).toEqual([expect.stringContaining('gate is still open and never shuts')]);
  });
});

describe('a run that a loop stops', () => {
  const text = barn(
    `  sensor ready on loft { pressure above 2 bar  clears below 1.6 bar }
  signal x = ready and not y
  signal y = x
  drive hatch = x
  drive gate  = TP(ready, 1 s)`,
    'response 0 s',
  );

  it('states nothing of doors, end and repeat beyond it', () => {
    expect(table(text)).toContain('Not computed beyond 0 s: the loop x, y never settles.');
    expect(table(text)).not.toMatch(/stays shut|does not end|does not repeat/);
    const [model] = timingModels(factsOf(text));
    expect([model!.subtitle, ...model!.notes].join(' ')).not.toMatch(/does not end|does not repeat/);
  });
});

describe('a door that turns round on its way', () => {
  it('is not shown to arrive in its chain of causes', () => {
    const text = table(
      barn(`  sensor ready on loft { pressure above 2 bar  clears below 1.6 bar }
  drive hatch = TP(ready, 50 ms)
  drive gate  = TP(TON(ready, 1 s), 300 ms)`),
    );
    expect(text).toContain('hatch leaves its seat (15 ms) and turns round before it is fully open');
    expect(text).not.toContain('hatch fully open +');
    expect(text).toContain('gate fully open +120 ms travel');
  });
});

describe('a rig that a latch starts', () => {
  const filled = (stop: string) => {
    const facts = factsOf(
      barn(
        `  feed fan into loft { rate 0.05 kg/s  only below 1.6 bar }
  chamber lock { volume 60 L  pressure 1.01325 bar }
  switch start = off
  switch stop  = off
  sensor full on silo { pressure above 3 bar  clears below 2.5 bar }
  signal running  = RS(start, ${stop})
  signal go       = running and not hold
  signal hatch_on = TOF(go, 700 ms)
  signal gate_on  = TP(TON(TOF(go, 1.6 s), 1.1 s), 600 ms)
  signal hold     = TOF(hatch_on, 3 s)
  drive hatch = hatch_on
  drive gate  = gate_on
  require strokes_to(silo, 1.3 bar) <= 200`,
        undefined,
        'loft > hatch > lock > gate > silo',
      ),
    );
    return evaluateRequirement(facts, facts.rig.requirements[0]!);
  };

  it('is filled with its switch thrown, whether or not a sensor stops it', () => {
    expect(filled('stop')).toMatchObject({ state: 'met' });
    expect(filled('stop or full').actual).toEqual(filled('stop').actual);
  });
});

describe('a door that stands open for good beside one that goes on moving', () => {
  const text = barn(`  sensor ready on loft { pressure above 2 bar  clears below 1.6 bar }
  switch run = on
  signal held = SR(run, ready)
  signal up   = TP(not down, 500 ms)
  signal down = TP(up, 900 ms)
  drive hatch = held
  drive gate  = down`);
  const facts = factsOf(text);

  it('is found by check and proof, and the sheet names both as they are', () => {
    const { movingDoors, openDoors } = facts.timing.atRest;
    expect({ movingDoors, openDoors }).toEqual({ movingDoors: [1], openDoors: [0] });
    const looked = look(text);
    const found = (code: string) => problemsWith(looked, code).map((p) => p.message);
    expect(found('door/left-open')).toEqual(['hatch stands open for good from power-on: held stays on.']);
    expect(found('cycle/never-ends')).toEqual([
      'gate goes on opening and closing although no sensor has changed; no switch or sensor stops it.',
    ]);
    const { proof } = proveRig(facts.rig, 'left open');
    while (!proof.run(200) && proof.explored < 5_000);
    expect(proof.results().map((r) => r.verdict.state)).toEqual(['refuted', 'proved']);
    expect(JSON.stringify(sheetOf(facts))).toContain('gate go on opening and closing, hatch open');
  });
});
