/** Chambers that stand joined: a stroke that ends has a mass, one that leaves them joined has none, and the run by itself follows the flow. */
import { describe, expect, it } from 'vitest';
import { analyseRig } from '../../server/core/run/analyse';
import { formatAlike } from '../../server/core/units/units';
import { rigOf } from '../support/rigs';

const rig = (drive: string): ReturnType<typeof rigOf> =>
  rigOf(`rig shed {
  medium air
  chamber tank { volume 800 L  pressure 4 bar }
  chamber yard { volume 900 m3  pressure 1 bar }
  door flap { travel 120 ms  bore 12 mm }
  stack tank > flap > yard
  switch hand = off
  ${drive}
}`);

describe('chambers that stand joined', () => {
  it('have a mass a stroke where the stroke ends, also at the instant a door shuts without travel', () => {
    const ended = rigOf(`rig shed {
  medium air
  chamber tank { volume 800 L  pressure 4 bar }
  chamber yard { volume 900 m3  pressure 1 bar }
  door flap { bore 12 mm }
  stack tank > flap > yard
  switch hand = off
  sequence pass on hand { at 0 s open flap  at 5 s close flap }
}`);
    const { strokes, notComputed } = analyseRig(ended).flow!;
    expect(notComputed).toEqual([]);
    // Choked all the while, isothermal: m = m0 (1 − exp(−t/τ)), τ = V / (A K √(RT)), K = 0.6847 for γ = 1.4 (any gas dynamics text).
    const gas = Math.sqrt((8.314462618 / 0.0289655) * 293.15);
    const tau = 0.8 / (0.62 * (Math.PI / 4) * 0.012 ** 2 * 0.684731 * gas);
    const start = (4e5 * 0.8) / gas ** 2;
    expect(strokes[0]!.stacks[0]!.atTrigger / (start * (1 - Math.exp(-5 / tau)))).toBeCloseTo(1, 4);
  });

  it('have none where it leaves them so; by itself the tank empties until both are equal', () => {
    const { strokes, notComputed, filling } = analyseRig(rig('drive flap = hand')).flow!;
    expect(strokes).toEqual([]);
    expect(notComputed[0]!.why).toContain('tank and yard stand joined after it');
    const last = filling!.points.at(-1)!;
    const equal = (4e5 * 0.8 + 1e5 * 900) / 900.8;
    expect(last.mass[0]! / ((equal * 0.8) / ((8.314462618 / 0.0289655) * 293.15))).toBeCloseTo(1, 5);
    const held = (p: typeof last): number => p.mass[0]! + p.mass[1]!;
    expect(held(last) / held(filling!.points[0]!)).toBeCloseTo(1, 9);
  });
});

describe('quantities side by side', () => {
  it('are in the unit of the largest', () => {
    const mass = formatAlike([0.08841, -0.5181, null], 'mass');
    expect([mass(0.08841), mass(-0.5181)]).toEqual(['0.08841 kg', '-0.5181 kg']);
    expect(formatAlike([], 'mass')(0)).toBe('0 kg');
  });
});
