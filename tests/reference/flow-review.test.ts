/**
 * Rigs as a reviewer would write them, from their text to every figure, against answers worked out by hand or from the textbook laws named
 * beside them (no published source): walls, vacuum, kv and ISO 6358 openings, doors that move in no time, leaks, pump curves, adiabatic
 * strokes, big pockets, a tank that is pumped dry. The closed forms are those of any text on thermodynamics and hydraulics.
 */
import { describe, expect, it } from 'vitest';
import { flowJson } from '../../server/core/report/flow-json';
import { flowTable } from '../../server/core/report/flow-table';
import { scenarioFlowJson } from '../../server/core/report/scenario-flow';
import { look } from '../checks/rigs';

const factsOf = (text: string) => look(text).contexts[0]!.facts;
const within = (value: number | null, wanted: number, part: number): void =>
  expect(Math.abs(value! / wanted - 1), `${value} for ${wanted}`).toBeLessThan(part);
const finalOf = (text: string, chamber: number) => scenarioFlowJson(factsOf(text), 0)!.chambers[chamber]!.final;

const AIR = 8.314462618 / 28.9647e-3;
const ROOM = 293.15;

describe('closed forms', () => {
  it('a hot closed chamber cools through its wall: τ = m cv / W', () => {
    const text = `rig warm_wall {
  medium air { process adiabatic }
  chamber hot { volume 200 L  pressure 5 bar  temperature 90 degC  wall 4 W/K }
  chamber side { volume 100 L  pressure 5 bar }
  door d { bore 10 mm  travel 200 ms }
  stack hot > d > side
  switch open = off
  drive d = open
  scenario cool { for 10 min }
}`;
    const mass = (5e5 * 0.2) / (AIR * 363.15);
    const T = ROOM + 70 * Math.exp(-600 / ((mass * AIR) / 0.4 / 4));
    within(finalOf(text, 0).temperature - ROOM, T - ROOM, 2e-3);
    within(finalOf(text, 0).pressure, (mass * AIR * T) / 0.2, 2e-5);
  });

  it('a vacuum pump of 10 m3/h: p = p0 e^(-Q t / V)', () => {
    const text = `rig vacuum {
  medium air
  chamber bell { volume 100 L }
  chamber lock { volume 20 L }
  door d { bore 20 mm  travel 200 ms }
  stack bell > d > lock
  draw pump from bell { rate 10 m3/h }
  switch open = off
  drive d = open
  scenario down { at 0 s draw pump on
    for 4 min }
}`;
    within(finalOf(text, 0).pressure, 101_325 * Math.exp(((-10 / 3600) * 240) / 0.1), 1e-9);
  });

  it('an adiabatic stroke that equalises at once: along the isentrope, then mixed at one pressure', () => {
    const text = `rig hot_lock {
  medium air { process adiabatic }
  chamber a { volume 1 m3  pressure 4 bar  temperature 60 degC }
  chamber b { volume 400 L  pressure 1 bar }
  door u { pocket 80 L  travel 250 ms }
  door m { pocket 80 L  travel 250 ms }
  door l { pocket 80 L  travel 250 ms }
  stack a > u > m > l > b
  switch run = off
  sequence pass on run {
    at 0 s open u, m
    at 2 s close u
    at 2.6 s open l
    at 4 s close m
    at 5 s close l
    repeat after 8 s
  }
  scenario go { at 0 s switch run on
    for 8 s }
}`;
    // 1 m3 becomes 1.08 m3 along the isentrope; 80 L of that meet 400 L of b, and are pressed back into 400 L.
    const pressure = 4e5 / 1.08 ** 1.4;
    const mass = (pressure * 0.08) / (AIR * (333.15 / 1.08 ** 0.4));
    within(flowJson(factsOf(text)).strokes[0]!.stacks[0]!.atStart, mass, 1e-4);
    const joined = (pressure * 0.08 + 1e5 * 0.4) / 0.48;
    within(finalOf(text, 1).pressure, joined * (0.48 / 0.4) ** 1.4, 1e-4);
    within(finalOf(text, 0).pressure, pressure, 1e-4);
  });

  it('pockets larger than their chambers, uneven ones: p V shared at each step', () => {
    const text = `rig big_pockets {
  medium air
  chamber a { volume 200 L  pressure 3 bar }
  chamber b { volume 80 L  pressure 1 bar }
  door u { pocket 500 L  clearance 5 L  travel 400 ms }
  door m { pocket 150 L  clearance 5 L  travel 400 ms }
  door l { pocket 300 L  clearance 5 L  travel 400 ms }
  stack a > u > m > l > b
  switch run = on
  sequence pass on run {
    at 0 s open u, m
    at 2 s close u
    at 2.6 s open l
    at 4 s close m
    at 5 s close l
    repeat after 8 s
  }
}`;
    // m3 and bar: what u, m and l keep in their 5 L from stroke to stroke, until it repeats.
    let [u, m, l, gain] = [0.015, 0.015, 0.015, 0];
    for (let k = 0; k < 100; k++) {
      const first = (3 * 0.2 + u + m) / (0.2 + 0.005 + 0.15);
      u = first * 0.005;
      const second = (first * 0.15 + l + 0.08) / (0.005 + 0.3 + 0.08);
      m = second * 0.005;
      const last = (second * 0.38) / 0.085;
      l = last * 0.005;
      gain = last * 0.08 - 0.08;
    }
    within(flowJson(factsOf(text)).strokes[0]!.stacks[0]!.atStart, (gain * 1e5) / (AIR * ROOM), 1e-4);
  });
});

describe('a door that opens in no time', () => {
  const blow = (travel: string): string => `rig blow_down {
  medium air
  chamber bottle { volume 50 L  pressure 8 bar }
  chamber box { volume 400 L  pressure 1 bar  limit 1.5 bar }
  door v { bore 6 mm  travel ${travel} }
  stack bottle > v > box
  switch open = off
  drive v = open
}`;

  it('is open in the rig followed by itself', () => {
    const { filling } = flowJson(factsOf(blow('0 s')));
    // 50 L of 8 bar and 400 L of 1 bar, isothermal: 1.778 bar in both.
    const { highest, points, overLimit, strokes } = filling!;
    const together = (8 * 50 + 400) / 450;
    within(highest[1]!.pressure, together * 1e5, 1e-4);
    within(points.at(-1)!.mass[0]!, (together * 1e5 * 0.05) / (AIR * ROOM), 1e-3);
    expect(overLimit[1]).not.toBeNull();
    expect(strokes).toBe(1);
    // A hair slower it is the same.
    within(flowJson(factsOf(blow('1 ms'))).filling!.highest[1]!.pressure, highest[1]!.pressure!, 1e-6);
  });
});

describe('energy of a rig that a sensor starts and a condition draws from', () => {
  // Sensor at 2.5 bar, b drawn down to 1 bar: each stroke begins there. The integral of p dV of each door, N ln(V1/V2) with N = p V at once.
  const text = `rig switched {
  medium air
  chamber a { volume 200 L  pressure 2.4 bar }
  chamber b { volume 80 L  pressure 1 bar }
  door u { pocket 500 L  clearance 5 L  travel 400 ms }
  door m { pocket 150 L  clearance 5 L  travel 400 ms }
  door l { pocket 300 L  clearance 5 L  travel 400 ms }
  stack a > u > m > l > b
  sensor hi on a { pressure above 2.5 bar  clears below 1.8 bar }
  feed f into a { rate 6 NL/min }
  draw g from b { rate 7 NL/min  only above 1 bar }
  sequence pass on hi {
    at 0 s open u, m
    at 2 s close u
    at 2.6 s open l
    at 4 s close m
    at 5 s close l
    repeat after 8 s
  }
}`;
  let [u, m, l, done, back, gain] = [0.0125, 0.0125, 0.0125, 0, 0, 0];
  for (let k = 0; k < 100; k++) {
    const first = 2.5 * 0.2 + u + m;
    const pocket = (first / 0.355) * 0.15;
    const second = pocket + l + 0.08;
    const last = (second / 0.385) * 0.38;
    back = first * Math.log(0.85 / 0.21) + second * Math.log(0.53 / 0.235);
    done = first * Math.log(0.85 / 0.355) + second * Math.log(0.53 / 0.385) + last * Math.log(0.38 / 0.085);
    [u, m, l] = [first / 0.355, second / 0.385, last / 0.085].map((bar) => bar * 0.005) as [number, number, number];
    gain = (last / 0.085 - 1) * 0.08;
  }
  // 6 NL/min (DIN 1343: 0 °C, 1.01325 bar) for a day, over what a stroke moves.
  const moved = (gain * 1e5) / (AIR * ROOM);
  const strokesADay = ((6e-3 / 60) * 86_400 * 101_325) / (AIR * 273.15) / moved;

  it('gross, given back, a kilogram and a day, all at the working point; what flows in and out during a stroke makes the rest', () => {
    const facts = factsOf(text);
    const { energy } = flowJson(facts).strokes[0]!;
    expect(energy.obtained).toBe('followed');
    within(energy.perStroke.compression, done * 1e5, 1e-3);
    within(energy.perStroke.back, back * 1e5, 1e-3);
    within(energy.perKg, (done * 1e5) / moved, 1e-3);
    within(energy.perDay, done * 1e5 * strokesADay, 1e-3);
    // The difference of two large sums: as near as they are.
    expect(Math.abs(energy.netPerDay! / strokesADay - (done - back) * 1e5)).toBeLessThan(1e-3 * done * 1e5);
    expect(flowTable(facts).join('\n')).toMatch(/Means over \d+ strokes? \(.+\) at the working point/);
  });
});

describe('a tank that is pumped dry', () => {
  const text = `rig oil_lift {
  medium oil liquid { density 870 kg/m3  bulk_modulus 1.5 GPa }
  chamber sump { volume 6 m3  floor_area 3 m2  level 1.2 m }
  chamber day  { volume 900 L  floor_area 0.6 m2  level 0.3 m  elevation 5 m }
  door u { pocket 12 L  clearance 1 L  travel 500 ms  bore 100 mm }
  door m { pocket 30 L  clearance 1 L  travel 500 ms  bore 100 mm }
  door l { pocket 12 L  clearance 1 L  travel 500 ms  bore 100 mm }
  stack sump > u > m > l > day
  draw burner from day { rate 4 L/min }
  sensor low on day { level below 0.6 m  clears above 1 m }
  sequence pass on low {
    at 0 s open u
    at 1 s open m
    at 2.4 s close u
    at 4 s open l
    at 5.5 s close m
    at 7 s close l
    repeat after 10 s
  }
}`;
  const facts = factsOf(text);
  const json = flowJson(facts);

  it('moves the middle pocket less its clearance at each stroke: 29 L', () => {
    within(json.strokes[0]!.stacks[0]!.atTrigger, 0.029 * 870, 1e-4);
  });

  it('has no working point while what it holds still falls, and is said to be empty', () => {
    const { filling } = json;
    // 4 L/min of 4 t, all drawn: it goes on until both are empty, and no kilogram costs what a dry stroke does.
    expect(filling!.points.at(-1)!.mass[1]).toBeLessThan(1);
    expect(json.strokes[0]!.energy.perKg === null || json.strokes[0]!.energy.perKg < 1e3).toBe(true);
    expect(flowTable(facts).join('\n')).toContain('EMPTY in the end');
  });

  it('gives no density of a liquid by the room around it, and no ceiling above the rim', () => {
    const printed = flowTable(facts).join('\n');
    expect(printed).not.toContain('522 kg/m3');
    expect(printed).toContain('Ceiling of day: there is none below its rim.');
  });
});
