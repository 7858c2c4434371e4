/**
 * Rigs in which many events come in any order, each within its tolerance, and stages that wait for one another: decided by searches that join states which differ
 * in such an order alone, and that leave out the stage waited for. Counted in states, not timed.
 */
import { describe, expect, it } from 'vitest';
import { proveRig } from '../../server/core/run/prove-rig';
import { rigFrom } from '../support/rig';

const list = (count: number, line: (k: number) => string, between = '\n'): string =>
  Array.from({ length: count }, (_, k) => line(k)).join(between);
const rig = (chambers: readonly string[], doors: readonly string[], stack: string, inner: string): string =>
  `rig line {
  medium air
${chambers.map((name) => `  chamber ${name} { volume 5 m3  pressure 1.013 bar }`).join('\n')}
${doors.map((name) => `  door ${name} { pocket 60 L  clearance 2 L  travel 250 ms +- 25 ms  bore 200 mm }`).join('\n')}
  stack ${stack}
  controller { response 30 ms +- 6 ms  timer_accuracy 1 % }
  switch run = on
${inner}
}`;
const sensor = (name: string, chamber: string): string =>
  `  sensor ${name} on ${chamber} { pressure above 5 bar  clears below 4.5 bar  min_on 2 s  min_off 2 s }`;

/** The state of every question, once all are decided or this many states were worked off. */
function verdictsWithin(text: string, states: number): string[] {
  const { proof } = proveRig(rigFrom(text).rig);
  while (!proof.run(100) && proof.explored < states);
  return proof.results().map(({ verdict }) => verdict.state);
}

describe('events in any order', () => {
  it('five doors, each for the time between two timers that all end with one pulse', () => {
    const text = rig(
      ['silo', 'tank'],
      ['d1', 'd2', 'd3', 'd4', 'd5'],
      'silo > d1 > d2 > d3 > d4 > d5 > tank',
      `${sensor('ripe', 'silo')}
${sensor('full', 'tank')}
  signal start = run and ripe and not full and not TOF(hold, 1 s)
  signal hold = TP(start, 12 s)
  drive d1 = hold and not TON(hold, 1.6 s)
${list(4, (k) => `  drive d${k + 2} = TON(hold, ${2 + 2 * k} s) and not TON(hold, ${3.4 + 2 * k} s)`)}`,
    );
    // 20 s of processor were not enough before; now two or three.
    const verdicts = verdictsWithin(text, 12_000);
    expect(verdicts).toHaveLength(11);
    expect(verdicts).not.toContain('undecided');
  });
});

describe('a stage that waits for another', () => {
  it('is decided without it', () => {
    const text = rig(
      ['silo', 'drum', 'tank'],
      ['a1', 'a2', 'a3', 'b1', 'b2'],
      'silo > a1 > a2 > a3 > drum > b1 > b2 > tank',
      `${sensor('ripe', 'silo')}
${sensor('full', 'drum')}
  signal a_start = run and ripe and not full and not a_hold
  signal a_hold = TOF(a_start, 9 s)
  signal a3_on = TP(TON(a_hold, 3.8 s), 1.4 s)
  signal b_start = run and full and not b_hold and not TOF(a3_on, 500 ms)
  signal b_hold = TOF(b_start, 6 s)
  drive a1 = TP(a_hold, 1.4 s)
  drive a2 = TP(TON(a_hold, 1.9 s), 1.4 s)
  drive a3 = a3_on
  drive b1 = TP(b_hold, 1.4 s)
  drive b2 = TP(TON(b_hold, 2 s), 1.4 s)
  require gap(b1, b2) >= 200 ms`,
    );
    expect(verdictsWithin(text, 8_000)).not.toContain('undecided');
  });
});
