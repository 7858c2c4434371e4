/** Energies of doors against hand-worked cases and published pump examples. Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { doorEnergy, doorSeconds, peakDoorPower } from '../../server/core/flow/door-energy';
import type { DoorPath, StrokePattern } from '../../server/core/flow/pattern';
import { analyseRig } from '../../server/core/run/analyse';
import { intervalFor, pocketFactorFor, unitsNeeded } from '../../server/core/flow/sizing';
import { flowJson } from '../../server/core/report/flow-json';
import { rigOf } from '../support/rigs';

const path = (...moves: [from: number, to: 0 | 1, t: number, arrives: number][]): DoorPath => ({
  initial: moves[0][1] === 1 ? 0 : 1,
  moves: moves.map(([from, to, t, arrives]) => ({ from, to, t: t * 1e6, arrives: arrives * 1e6 })),
});
const pattern = (doors: DoorPath[], seconds: number): StrokePattern => ({
  doors,
  duration: seconds * 1e6,
  strokes: 1,
  repeats: true,
  lines: [],
});

describe('energy of doors', () => {
  it('an electric door of 1200 N · 0.35 m at 60 %, two moves in 15 s: 700 J a move, 93.33 W on average (arithmetic)', () => {
    // 700 J in 0.5 s are 1400 W while moving.
    const p = pattern([path([0, 1, 1, 1.5], [1, 0, 6, 6.5])], 15);
    const { moving, holding } = doorEnergy(p, [{ moving: (1200 * 0.35) / 0.6 / 0.5, held: 0, rest: 0 }]);
    expect(moving[0]).toBeCloseTo(1400, 9);
    expect(holding).toBe(0);
    expect(moving[0]! / 15).toBeCloseTo(93.3333, 4);
  });

  it('a solenoid of 60 W for 0.15 s, then 18 W to 4 s, in 10 s: 78.30 J, 7.83 W (arithmetic)', () => {
    // Moves out in 0.15 s and is held until 4 s; it falls back in no time.
    const p = pattern([path([0, 1, 0, 0.15], [1, 0, 4, 4])], 10);
    const { moving, holding } = doorEnergy(p, [{ moving: 60, held: 18, rest: 0 }]);
    expect(moving[0]! + holding).toBeCloseTo(78.3, 9);
  });

  it('a door that rests open is held while it is shut', () => {
    const p = path([1, 0, 2, 2.5], [0, 1, 6, 6.5]);
    expect(doorSeconds(p, 1, 10e6)).toEqual({ moving: 1, held: 3.5 });
  });

  it('a reversal midway moves only as long as it moves', () => {
    // Opens from 0 s, turns round at 0.2 s, back at 0.4 s.
    expect(doorSeconds(path([0, 1, 0, 1], [0.2, 0, 0.2, 0.4]), 0, 10e6)).toEqual({ moving: 0.4, held: 0 });
  });

  it('the peak is where most doors move together', () => {
    const doors = [path([0, 1, 0, 1], [1, 0, 5, 6]), path([0, 1, 0.5, 1.5], [1, 0, 7, 8])];
    expect(
      peakDoorPower(pattern(doors, 10), [
        { moving: 100, held: 10, rest: 0 },
        { moving: 70, held: 5, rest: 0 },
      ]),
    ).toBe(170);
  });
});

describe('feeds', () => {
  it('pump of 2 L/s at 5 MPa, 85 %: 11.765 kW electric; over a stroke of 11.8 s 138.8 kJ (arithmetic)', () => {
    const watts = (2e-3 * 5e6) / 0.85;
    expect(watts).toBeCloseTo(11_764.7, 1);
    const rig = rigOf(`rig lift {
      medium water
      chamber sump { volume 8 m3  level 1 m  floor_area 4 m2 }
      chamber top  { volume 8 m3  level 1 m  floor_area 4 m2 }
      door a { pocket 20 L  travel 300 ms }
      door b { pocket 20 L  travel 300 ms }
      door c { pocket 20 L  travel 300 ms }
      stack sump > a > b > c > top
      feed pump into sump { rate 2 L/s  power 11764.7 W }
      controller { response 50 ms }
      sensor ready on sump { level above 1.5 m  clears below 1 m }
      signal start = ready and not hold
      signal a_on = TOF(start, 1.5 s)
      signal b_on = TOF(start, 2.5 s)
      signal c_on = TOF(TON(b_on, 2 s), 1 s)
      signal hold = TOF(a_on, 10 s)
      drive a = a_on
      drive b = b_on
      drive c = c_on
    }`);
    const { energy } = analyseRig(rig).flow!.strokes[0];
    expect(energy.perStroke.pumps).toBeCloseTo(11_764.7 * 11.8, 3);
    // 20 L of water a stroke: 998.2 · 0.02 kg.
    expect(energy.perKg).toBeCloseTo(energy.perStroke.total! / (998.2 * 0.02), 0);
  });
});

describe('work on a liquid', () => {
  const lift = (elevation: string): ReturnType<typeof rigOf> =>
    rigOf(`rig lift {
      medium brine liquid { density 1180 kg/m3  bulk_modulus 2.4 GPa }
      chamber sump { volume 4 m3  floor_area 2 m2  level 1.5 m }
      chamber tank { volume 2 m3  floor_area 1 m2  level 0.2 m  elevation ${elevation} }
      door inlet { pocket 50 L  travel 400 ms }
      door middle { pocket 50 L  travel 400 ms }
      door outlet { pocket 50 L  travel 400 ms }
      stack sump > inlet > middle > outlet > tank
      sensor wet on sump { level above 1.2 m  clears below 0.6 m }
      sequence stroke on wet {
        at 0 s    open inlet
        at 1 s    open middle
        at 2 s    close inlet
        at 3.5 s  open outlet
        at 5 s    close middle
        at 6.5 s  close outlet
        repeat after 8 s
      }
    }`);
  const work = (elevation: string): number => net(lift(elevation));

  it('is what lifting it takes: m g h (arithmetic)', () => {
    // 50 L (59 kg) leave the sump between 1.5 m and 1.475 m, and come into the tank between 200 mm and 250 mm above its bottom.
    // 59 kg * 9.80665 m/s2 * (3 m + 0.225 m - 1.4875 m) = 1005.3 J; on one level -730.5 J: it runs down.
    expect(work('3 m')).toBeCloseTo(1005.3, 0);
    expect(work('0 m')).toBeCloseTo(-730.5, 0);
  });

  it('is none where a stroke brings back all it took', () => {
    // The inlet shuts before the outlet opens: what is taken out of the sump goes back into it, and the same in the tank.
    const rig = rigOf(`rig idle {
      medium water
      chamber sump { volume 4 m3  floor_area 2 m2  level 1.5 m }
      chamber tank { volume 2 m3  floor_area 1 m2  level 0.2 m }
      door inlet { pocket 50 L  travel 400 ms }
      door outlet { pocket 50 L  travel 400 ms }
      stack sump > inlet > outlet > tank
      sensor wet on sump { level above 1.2 m  clears below 0.6 m }
      sequence stroke on wet {
        at 0 s    open inlet
        at 2 s    close inlet
        at 2.5 s  open outlet
        at 5 s    close outlet
        repeat after 8 s
      }
    }`);
    expect(net(rig)).toBeCloseTo(0, 6);
  });
});

describe('a drive that is stated does the work of its door', () => {
  // Three doors, each 2 moves of 0.4 s in a stroke: 0.8 s times the power stated.
  const rig = (...watts: number[]): ReturnType<typeof rigOf> => {
    const [inlet, middle, outlet] = watts.map((w) => (w > 0 ? `power moving ${w} W  power held 10 W` : ''));
    return rigOf(`rig pass {
      medium air
      chamber receiver { volume 1 m3  pressure 2.5 bar }
      chamber store { volume 2 m3  pressure 1 bar }
      door inlet { pocket 100 L  travel 400 ms  ${inlet} }
      door middle { pocket 100 L  travel 400 ms  ${middle} }
      door outlet { pocket 100 L  travel 400 ms  ${outlet} }
      stack receiver > inlet > middle > outlet > store
      feed blower into receiver { rate 0.015 kg/s  power 100 W }
      draw user from store { rate 0.02 kg/s  only above 2 bar }
      sensor ready on receiver { pressure above 2.5 bar  clears below 2.3 bar }
      sequence stroke on ready {
        at 0 s    open inlet, middle
        at 2.1 s  close inlet
        at 2.9 s  open outlet
        at 4.3 s  close middle
        at 5.6 s  close outlet
        repeat after 8 s
      }
    }`);
  };
  const flow = (...watts: number[]): NonNullable<ReturnType<typeof analyseRig>['flow']> =>
    analyseRig(rig(...watts)).flow!;
  const unstated = flow(0, 0, 0).strokes[0]!.energy;
  const { compression, pumps } = unstated.perStroke;

  it('one with no power stated counts its work, one with little the same, one with much its power', () => {
    expect(unstated.perStroke.total).toBeCloseTo(compression! + pumps, 6);
    const little = flow(1, 1, 1).strokes[0]!.energy.perStroke;
    expect(little.doorsMoving).toBeCloseTo(3 * 0.8, 9);
    expect(little.drives).toBeCloseTo(compression!, 6);
    expect(little.total).toBeCloseTo(compression! + little.doorsHolding + pumps, 6);
    const much = flow(1e6, 1e6, 1e6).strokes[0]!.energy.perStroke;
    expect(much.drives).toBeCloseTo(3 * 0.8e6, 3);
    expect(much.total).toBeCloseTo(3 * 0.8e6 + much.doorsHolding + pumps, 3);
  });

  it('door by door: three of which one is stated add up to three at once', () => {
    const drives = (...watts: number[]): number => flow(...watts).strokes[0]!.energy.perStroke.drives!;
    const added = [drives(1e6, 0, 0), drives(0, 1e6, 0), drives(0, 0, 1e6)].map((joules) => joules - compression!);
    expect(added.reduce((a, v) => a + v, 0)).toBeCloseTo(3 * 0.8e6 - compression!, 3);
    // Between: 60 kW for 0.8 s are 48 kJ, more than a pocket of 100 L takes at 2.5 bar (25 kJ), and never both.
    expect(drives(0, 60e3, 0)).toBeCloseTo(drives(0, 1e6, 0) - 0.8e6 + 48e3, 3);
  });

  it('per kilogram, per day, over the run and in JSON alike', () => {
    for (const watts of [
      [0, 0, 0],
      [1e6, 1, 0],
    ]) {
      const { strokes, filling } = flow(...watts);
      const { perStroke, perKg, perDay, netPerDay } = strokes[0]!.energy;
      const { working, points, energy } = filling!;
      expect(working!.energy.total / working!.strokes).toBeCloseTo(perStroke.total!, 3);
      expect(perKg! * (working!.moved / working!.strokes)).toBeCloseTo(perStroke.total!, 3);
      expect(perDay! * (working!.seconds / 86_400)).toBeCloseTo(working!.energy.total, 0);
      expect((perDay! - netPerDay!) / perDay!).toBeCloseTo(perStroke.back! / perStroke.total!, 9);
      expect(energy.total).toBeCloseTo(energy.drives + energy.doorsHolding + energy.pumps, 6);
      expect(points[points.length - 1]!.energy).toBeCloseTo(energy.total, 6);
      const facts = analyseRig(rig(...watts));
      const json = flowJson(facts);
      expect(json.filling!.working!.energyPerDay).toBeCloseTo(perDay!, 0);
      expect(json.filling!.working!.netPerDay).toBeCloseTo(netPerDay!, 0);
      expect(json.filling!.energy).toBeCloseTo(energy.total, 6);
    }
  });
});

describe('sizing', () => {
  it('lines, intervals and pockets', () => {
    expect([unitsNeeded(20, 10), unitsNeeded(20.01, 10), unitsNeeded(0.3, 0.1), unitsNeeded(1, 10)]).toEqual([
      2, 3, 3, 1,
    ]);
    expect(intervalFor(0.5, 0.05)).toBe(10);
    expect(intervalFor(0.5, 0)).toBe(Infinity);
    expect(pocketFactorFor(0.5, 10, 0.1)).toBe(2);
  });
});

describe('work on a liquid', () => {
  // Hydrostatics, any text: a pocket of V that is pushed out at the bottom of h of liquid takes ρ g h V, the air on its surface nothing; at
  // once in `travel`, ρ g h V/travel. Both tanks are as wide as a lake, so that their levels stay.
  const lake = `
rig lake {
  medium water { temperature 20 degC }
  chamber a { volume 100000 m3  floor_area 20000 m2  level 3 m }
  chamber b { volume 100000 m3  floor_area 20000 m2  level 2 m }
  door d { pocket 0.101 m3  clearance 1 L  travel 0.5 s }
  door e { pocket 0.101 m3  clearance 1 L  travel 0.5 s }
  stack a > d > e > b
  sensor go on a { level above 1 m }
  signal d_on = TP(go, 2 s)
  signal e_on = TP(TON(go, 4 s), 2 s)
  drive d = d_on
  drive e = e_on
}`;
  it('counts what it stands above the air outside: what one door draws in it pushes out again, at 3 m and at 2 m', () => {
    const { energy, loads } = analyseRig(rigOf(lake)).flow!.strokes[0]!;
    const head = (metres: number): number => 998.2 * 9.80665 * metres * 0.1;
    expect(energy.perStroke.compression! / (head(3) + head(2))).toBeCloseTo(1, 3);
    expect(energy.perStroke.back! / (head(3) + head(2))).toBeCloseTo(1, 3);
    expect(loads.power[0]! / (head(3) / 0.5)).toBeCloseTo(1, 3);
    expect(loads.power[1]! / (head(2) / 0.5)).toBeCloseTo(1, 3);
  });
});

/** Work of the doors less what they would get back, J. */
function net(rig: ReturnType<typeof rigOf>): number {
  const { compression, back } = analyseRig(rig).flow!.strokes[0].energy.perStroke;
  return compression! - back!;
}
