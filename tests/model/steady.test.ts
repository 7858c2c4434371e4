/** What the network comes to, against the event engine: whatever was before, inputs that stand still lead to the value stated. */
import { describe, expect, it } from 'vitest';
import { builtinProperties } from '../../server/core/proof/builtin';
import { restsShut, steadyValue } from '../../server/core/model/steady';
import { driveOf, inputsOfRig } from '../../server/core/model/logic';
import { analyseRig } from '../../server/core/run/analyse';
import { standstill, standstillText } from '../../server/core/run/no-repeat';
import { proveRig } from '../../server/core/run/prove-rig';
import { createEngine, initialInputs } from '../../server/core/timing/engine';
import { randomText } from '../agreement/random-text';
import { messagesOf } from '../checks/rigs';
import { integer, seeded } from '../support/random';
import { rigOf } from '../support/rigs';

const RIGS = Number(process.env['STEADY_RIGS'] ?? 60);

describe('what the network comes to', () => {
  it(`is where the event engine ends, after random operations, on ${RIGS} random rigs`, () => {
    let known = 0;
    for (let seed = 1; seed <= RIGS; seed++) {
      const random = seeded(seed);
      const rig = rigOf(randomText(seed));
      const initial = initialInputs(rig);
      const engine = createEngine(rig, { inputs: initial, budget: 20_000 });
      const inputs = inputsOfRig(rig);
      for (let k = 0; k < 6; k++) {
        engine.advanceTo(engine.now + integer(random, 0, 900_000));
        engine.setInput(inputs[integer(random, 0, inputs.length - 1)]!.net, random() < 0.5);
      }
      engine.advanceTo(engine.now + 60_000_000);
      if (engine.stopped) continue;
      rig.network.nets.forEach((_, net) => {
        const value = steadyValue(rig, net, (n) => engine.values[n] === 1);
        if (value === null) return;
        known++;
        expect(`${seed} ${rig.network.nets[net]!.name} ${value}`).toBe(
          `${seed} ${rig.network.nets[net]!.name} ${engine.values[net] === 1}`,
        );
      });
    }
    expect(known).toBeGreaterThan(4 * RIGS);
  });
});

describe('where the network stands still', () => {
  it(`no door is open that has no rest open, after random operations, on ${RIGS} random rigs`, () => {
    let [shut, beyond] = [0, 0];
    for (let seed = 1; seed <= RIGS; seed++) {
      const random = seeded(seed);
      const rig = rigOf(randomText(seed));
      const engine = createEngine(rig, { inputs: initialInputs(rig), budget: 40_000 });
      const inputs = inputsOfRig(rig);
      for (let k = 0; k < 8; k++) {
        engine.advanceTo(engine.now + integer(random, 0, 900_000));
        engine.setInput(inputs[integer(random, 0, inputs.length - 1)]!.net, random() < 0.5);
      }
      engine.advanceTo(engine.now + 60_000_000);
      // What still moves has no rest to be judged.
      if (engine.stopped || engine.nextTime() < Infinity) continue;
      rig.doors.forEach((door, d) => {
        const now = (net: number): boolean => engine.values[net] === 1;
        if (!restsShut(rig, d, now)) return;
        shut++;
        if (steadyValue(rig, driveOf(rig, d)!.net, now) === null) beyond++;
        expect(`${seed} ${door.name} ${engine.doorPosition(d)}`).toBe(`${seed} ${door.name} 0`);
      });
    }
    expect(shut).toBeGreaterThan(RIGS / 2);
    if (RIGS >= 60) expect(beyond).toBeGreaterThan(0);
  });

  const restOf = (drive: string): boolean => {
    const rig = rigOf(drier(`  switch stop = off\n${drive}\n  drive flap = a`));
    return restsShut(rig, 0, () => false);
  };

  it.each([
    // The beat runs as long as the latch is on: no rest. With the latch off it is off.
    ['signal run = SR(full, stop)\nsignal beat = run and not TON(beat, 3 s)\nsignal a = beat', true],
    ['signal run = SR(full, stop)\nsignal a = TP(run, 3 s)', true],
    ['signal run = RS(full, stop)\nsignal a = run and full', true],
    // The latch may rest on: set, then both inputs off.
    ['signal a = SR(full, stop)', false],
    ['signal a = not RS(full, stop)', false],
    ['signal a = CTU(full, stop, 2)', false],
    // A loop that holds itself has two rests; one through a timer as well.
    ['signal a = (full or a) and not stop', false],
    ['signal a = TON(a or full, 2 s)', false],
    // Set while the input is as it is: stop is off.
    ['signal a = SR(not stop, full)', false],
    ['signal a = not SR(not stop, full)', true],
  ])('%s', (text, shut) => {
    expect(restOf(text)).toBe(shut);
  });
});

const drier = (body: string): string => `rig drier {
  medium air
  chamber shaft { volume 3 m3  pressure 1.01325 bar }
  chamber drum  { volume 500 L  pressure 1.01325 bar }
  door flap  { pocket 30 L  travel 120 ms }
  stack shaft > flap > drum
  controller { response 15 ms }
  sensor full on drum { pressure above 2 bar  clears below 1.6 bar }
${body}
}`;

/** Whether the check reports a door left open as the rig waits, and whether the proof asks for it and refutes it. */
function answers(body: string): { check: boolean; proof: string } {
  const { rig, proof } = proveRig(rigOf(drier(body)), 'left open');
  for (let k = 0; k < 40 && !proof.run(200); k++);
  const asked = builtinProperties(rig, initialInputs(rig)).some((p) => p.kind === 'left-open');
  return {
    check: messagesOf(drier(body), 'door/left-open').length > 0,
    proof: asked ? proof.results()[0]!.verdict.state : 'not asked',
  };
}

describe('a door open at rest: one judge for check and proof', () => {
  it.each([
    ['set by a switch', 'switch w = on\n drive flap = w', false, 'not asked'],
    ['by a switch under another name', 'switch w = on\n signal g = w\n drive flap = g', false, 'not asked'],
    ['by a switch through an off-delay', 'switch w = on\n drive flap = TOF(w, 2 s)', false, 'not asked'],
    ['by two switches', 'switch w = on\n switch v = off\n drive flap = w and not v', false, 'not asked'],
    ['by a sensor that is off', 'drive flap = not full', false, 'not asked'],
    ['by a sensor through a timer', 'drive flap = TOF(not full, 2 s)', false, 'not asked'],
    ['by nothing: a switch read the wrong way round', 'switch w = off\n drive flap = not w', true, 'refuted'],
    ['by nothing: a pulse read the wrong way round', 'drive flap = not TP(full, 2 s)', true, 'refuted'],
    ['shut', 'switch w = off\n drive flap = TP(w, 2 s)', false, 'proved'],
  ])('%s', (_, body, check, proof) => {
    expect(answers(body)).toEqual({ check, proof });
  });
});

describe('rest that needs no search', () => {
  it('two switches that an exhaustive search cannot follow to its end', () => {
    const { proof } = proveRig(
      rigOf(drier('switch up = off\n switch down = off\n signal both = up xor down\n drive flap = both')),
      'left open',
    );
    while (!proof.run(1));
    expect(proof.results().map((r) => r.verdict.state)).toEqual(['proved']);
    expect(proof.explored).toBe(0);
  });
});

describe('a chain as long as a rig can be', () => {
  it('is walked to its end: what it comes to, whether its door rests shut, and why its stroke comes once', () => {
    const links = Array.from({ length: 15_000 }, (_, k) => `signal s${k} = ${k === 0 ? 'latch' : `s${k - 1}`}`);
    const latch = 'signal latch = SR(full, full and not full)';
    const start = 'signal start = full and not s14999\n signal out = TP(start, 1 s)';
    const rig = rigOf(drier([latch, ...links, start, 'drive flap = out and s14999'].join('\n')));
    const last = rig.signals.at(-3)!;
    expect(last.name).toBe('s14999');
    expect(steadyValue(rig, last.net, () => false)).toBe(null);
    expect(restsShut(rig, 0, () => false)).toBe(true);
    const atOnce = drier([latch, ...links, start, 'drive flap = out'].join('\n')).replace(
      'response 15 ms',
      'response 0 s',
    );
    const once = rigOf(atOnce);
    const stroke = analyseRig(once).timing.strokes[0]!;
    expect(standstill(once, stroke)).toHaveLength(15_002);
    expect(standstillText(once, stroke)).toMatch(/^start stays off because s14999 stays on, because s14998 stays on/);
  });
});
