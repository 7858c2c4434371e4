/** Loops of logic without response time: a state that never settles at its instant stands for no other, and nothing is proved of it by one. */
import { describe, expect, it } from 'vitest';
import { proveRig } from '../../server/core/run/prove-rig';
import { createEngine, initialInputs } from '../../server/core/timing/engine';
import { rigFrom } from '../support/rig';

/** A latch by way of two inverters that a pulse of no width starts; with `response`, it settles. */
const mill = (response: string): string => `rig mill {
  chamber hopper { volume 1 m3 }
  chamber bin { volume 1 m3 }
  door flap { travel 0 s }
  door slide { travel 3 ms }
  stack hopper > flap > slide > bin
  controller { response ${response} }
  switch run = off
  switch pull = off { min_on 3 ms }
  signal waits  = run and not fills
  signal asks   = run and not waits
  signal passed = F_TRIG(pull)
  signal fills  = asks or passed
  drive flap = fills
  drive slide = waits
  require never(fills)
}`;

function states(text: string): Map<string, string> {
  const { proof } = proveRig(rigFrom(text).rig);
  while (!proof.run(500) && proof.explored < 20_000);
  return new Map(proof.results().map((r) => [r.property.name, r.verdict.state]));
}

describe('a loop without response', () => {
  it('that a free input may set going leaves undecided what it may break', () => {
    const found = states(mill('0 s'));
    expect(found.get('no straight-through path from hopper to bin')).not.toBe('proved');
    expect(found.get('never(fills)')).not.toBe('proved');
  });
  it('with a response is decided', () => {
    expect(states(mill('1 ms')).get('never(fills)')).toBe('refuted');
  });
});

/** A door that shuts at rest by the equations of its own drive, beside a loop of logic that no value satisfies while `free` is on. */
const beside = (loop: string): string => `rig weir {
  chamber upper { volume 1 m3 }
  chamber lower { volume 1 m3 }
  door gate { travel 10 ms }
  stack upper > gate > lower
  controller { response 0 s }
  switch run = on
  switch pull = off
  sensor wet on upper { pressure above 2 bar  clears below 1 bar }
  signal lifts = TP(wet, 1 s) and run
  ${loop}
  drive gate = lifts
  require never(gate and not run)
}`;

/** One element; two by a latch; by a pulse; one that only the negation of a free sensor lets go round. */
const LOOPS: readonly string[] = [
  'signal turns = pull and not turns',
  'signal holds = SR(pull and not frees, frees)\n  signal frees = pull and holds',
  'signal falls = F_TRIG(rises or pull)\n  signal rises = falls',
  'signal runs = not wet and pull and not walks\n  signal walks = runs',
];

describe('a loop that may never settle, anywhere in the rig', () => {
  it.each(LOOPS)('leaves every question undecided, with the loop by name: %s', (loop) => {
    const { proof } = proveRig(rigFrom(beside(loop)).rig);
    while (!proof.run(500) && proof.explored < 20_000);
    const verdicts = proof.results().map((r) => r.verdict);
    const open = verdicts.filter(({ state }) => state !== 'refuted');
    expect(open.length).toBeGreaterThanOrEqual(2);
    for (const verdict of open) {
      expect(verdict).toMatchObject({ state: 'undecided', reason: expect.stringContaining('may never settle (') });
      expect(verdict).toMatchObject({ reason: expect.stringContaining(loop.split(' ')[1]!) });
    }
  });
  it.each(['signal seals = (pull or seals) and run', 'signal holds = SR(pull, holds and not run)'])(
    'one that always settles hinders nothing: %s',
    (loop) => {
      const found = states(beside(loop));
      expect(found.get('gate not left open at rest')).toBe('proved');
      expect(found.get('run off brings every door to rest')).toBe('proved');
    },
  );
});

describe('never of one signal', () => {
  it('is a question for the proof as never of a condition is', () => {
    const text = (condition: string): string => mill('1 ms').replace('never(fills)', `never(${condition})`);
    expect(states(text('fills')).get('never(fills)')).toBe('refuted');
    expect(states(text('flap')).get('never(flap)')).toBe('refuted');
    expect(states(text('run and not run')).get('never(run and not run)')).toBe('proved');
  });
});

/** A latch that only four pulses within 20 ms set: eight changes within one response of 50 ms, more than the proof follows. */
const chattering = `rig bell {
  chamber hopper { volume 1 m3 }
  chamber bin { volume 1 m3 }
  door flap { travel 10 ms }
  stack hopper > flap > bin
  controller { response 0 s }
  sensor touched on hopper { pressure above 2 bar  clears below 1 bar }
  signal seen = touched
  signal back = not seen responds 50 ms
  signal quick = TP(back, 20 ms)
  signal thrice = CTU(back, not quick, 3)
  drive flap = SR(thrice, off)
}`;

describe('changes that come faster than a response', () => {
  const { rig } = rigFrom(chattering);
  it('may leave a door open once they have come to rest', () => {
    const engine = createEngine(rig, { inputs: initialInputs(rig), budget: 10_000 });
    for (let k = 0; k < 8; k++) engine.setInput(rig.sensors[0]!.net, k % 2 === 0, 1_000_000 + k * 2_000);
    engine.advanceTo(5_000_000);
    expect(engine.doorPosition(0)).toBe(1);
  });
  it('so that it is not proved shut at rest, and the reason says what to state', () => {
    const { proof } = proveRig(rig);
    while (!proof.run(200) && proof.explored < 4_000);
    const { verdict } = proof.results().find((r) => r.property.kind === 'left-open')!;
    expect(verdict).toMatchObject({ state: 'undecided', reason: expect.stringContaining('state min_on and min_off') });
  });
});
