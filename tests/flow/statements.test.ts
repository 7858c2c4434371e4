/** What the text states about pumps, openings, walls and the atmosphere reaches the flow. */
import { describe, expect, it } from 'vitest';
import { scenarioFlowJson } from '../../server/core/report/scenario-flow';
import { flowJson } from '../../server/core/report/flow-json';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';

const followed = (body: string, medium = 'air') =>
  scenarioFlowJson(analyseRig(rigFrom(`rig r {\nmedium ${medium}\n${body}\n}`).rig), 0)!;
const last = (body: string, chamber: number, medium = 'air') =>
  followed(body, medium).points.at(-1)!.chambers[chamber]!;
const within = (actual: number, expected: number, relative: number): void =>
  expect(Math.abs(actual / expected - 1)).toBeLessThanOrEqual(relative);

const IDLE = 'door d { pocket 1 L }\nstack v > d > w\nswitch s = off\ndrive d = s\n';
const VESSELS = 'chamber v { volume 1 m3 pressure 0.1 bar }\nchamber w { volume 1 m3 pressure 1 bar }\n';

describe('pumps', () => {
  // p = p0 exp(−S t/V), vacuum technique, any text: 10 m3/h for 6 min from 1 m3 is one time constant.
  it('a draw by volume takes the volume as it is: 0.1 bar falls to 0.1 bar / e', () =>
    within(
      last(`${VESSELS}${IDLE}draw pump from v { rate 10 m3/h }\nscenario m { at 0 s draw pump on  for 6 min }`, 0)
        .pressure!,
      1e4 / Math.E,
      1e-6,
    ));

  it('as free gas it takes 10 m3/h of 1.01325 bar, which empties the vessel', () =>
    expect(
      last(`${VESSELS}${IDLE}draw pump from v { rate free 10 m3/h }\nscenario m { at 0 s draw pump on  for 6 min }`, 0)
        .pressure!,
    ).toBeLessThan(1));

  it('a feed by volume counts free gas: 1 m3 into 1 m3 is one atmosphere more (isothermal)', () =>
    within(
      last(`${VESSELS}${IDLE}feed blower into v { rate 10 m3/h }\nscenario m { at 0 s feed blower on  for 6 min }`, 0)
        .pressure!,
      1e4 + 101_325,
      1e-6,
    ));

  // dp/dt = (pa/V) Q(p) with Q falling from 10 m3/h at 1 bar to 0 at 5 bar: p approaches 5 bar with V (4 bar)/(pa 10 m3/h).
  it('by a curve: the pressure approaches the end of the curve exponentially', () => {
    const body = VESSELS.replace('0.1 bar', '1 bar') + IDLE;
    const tau = (4e5 / 101_325 / 10) * 3600;
    const p = last(
      `${body}feed pump into v { curve 1 bar 10 m3/h, 5 bar 0 m3/h }\nscenario m { at 0 s feed pump on  for 20 min }`,
      0,
    ).pressure!;
    within(p, 5e5 - 4e5 * Math.exp(-1200 / tau), 1e-5);
  });

  it('a curve of a liquid', () =>
    within(
      last(
        'chamber v { volume 1 m3 floor_area 1 m2 }\nchamber w { volume 1 m3 }\n' +
          IDLE +
          'feed pump into v { curve 1 bar 3.6 m3/h, 3 bar 3.6 m3/h }\nscenario m { at 0 s feed pump on  for 5 min }',
        0,
        'water',
      ).mass,
      0.3 * 998.2,
      1e-4,
    ));
});

const OPEN = (opening: string): string =>
  `chamber v { volume 1 m3 pressure 7 bar }\nchamber w { volume 1000 m3 pressure 1 bar }\n` +
  `door d { ${opening} }\nstack v > d > w\nswitch s = on\ndrive d = s\nscenario m { for 10 s }`;

describe('openings', () => {
  // Choked and isothermal: p = p0 exp(−C ρ0 R T0 t/V) with ρ0 R T0 = 1e5 Pa (ISO 6358), so exp(−C 1e5 t/V).
  it('conductance: choked blow-down falls by exp(−C p0 t/V)', () =>
    within(last(OPEN('conductance 50 L/s/bar ratio 0.3'), 0).pressure!, 7e5 * Math.exp(-0.05 * 10), 4e-3));

  it('kv: choked blow-down at Y = 2/3', () => {
    // ṁ = 31.62 Kv (2/3) √(Fγ xT p ρ) kg/h, p in bar: a rate constant of 31.62/3600 · Kv · (2/3) √(xT) √(1e-5/(R T)) R T/V.
    const RT = 287.05 * 293.15;
    const rate = ((31.6228 / 3600) * 10 * (2 / 3) * Math.sqrt(0.7 * (1.3999 / 1.4)) * Math.sqrt(1e-5 / RT) * RT) / 1;
    within(last(OPEN('kv 10 m3/h xt 0.7'), 0).pressure!, 7e5 * Math.exp(-rate * 10), 4e-3);
  });

  it('a leak is counted, and nothing says otherwise', () => {
    const text = `rig r {\nmedium air\n${OPEN('bore 10 mm leak 1 %')}\n}`;
    expect(flowJson(analyseRig(rigFrom(text).rig)).problems).toEqual([]);
  });
});

describe('atmosphere', () => {
  const vent = (statement: string): string =>
    `chamber v { volume 1 m3 pressure 7 bar }\n${statement}door d { bore 100 mm }\nstack v > d > atmosphere\nswitch s = on\ndrive d = s\nscenario m { for 1 min }`;

  it('takes all there is and keeps its pressure', () => within(last(vent(''), 0).pressure!, 101_325, 1e-4));
  it('at the pressure that is stated', () =>
    within(last(vent('atmosphere { pressure 0.8 bar }\n'), 0).pressure!, 80_000, 1e-4));
  it('is no chamber of the table', () => expect(followed(vent('')).chambers.map((c) => c.name)).toEqual(['v']));
});

describe('walls', () => {
  const cooling = (walls: string): string =>
    `chamber v { volume 1 m3 pressure 2 bar temperature 100 degC ${walls} }\nchamber w { volume 1 m3 pressure 1 bar }\n${IDLE}scenario m { for 2 min }`;
  const ADIABATIC = 'air { process adiabatic }';

  it('cools_in is the time constant towards the temperature of the medium', () =>
    within(last(cooling('cools_in 2 min'), 0, ADIABATIC).temperature, 293.15 + 80 / Math.E, 2e-3));

  it('wall in W/K: m cv over it', () => {
    const mass = 2e5 / (287.05 * 373.15);
    const tau = (mass * (287.05 / 0.3999)) / 20;
    within(last(cooling('wall 20 W/K'), 0, ADIABATIC).temperature, 293.15 + 80 * Math.exp(-120 / tau), 2e-3);
  });

  it('without them nothing cools', () => within(last(cooling(''), 0, ADIABATIC).temperature, 373.15, 1e-9));
});
