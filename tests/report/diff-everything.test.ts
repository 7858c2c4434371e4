/** Whatever literal of a rig is changed, the difference of the two versions names it: no property is left out of the comparison. */
import { describe, expect, it } from 'vitest';
import { diffRigs, type DiffRow } from '../../server/core/report/diff';
import { analyseRig } from '../../server/core/run/analyse';
import { resolveText } from '../support/rig';

/** States every property of the language at least once; each value may be scaled by a little and still be sound. */
const HEAD = 'rig all "All" {\n';
const CONTROL = `
  controller { response 40 ms +- 5 ms  timer_accuracy 1 % }
  switch run = on { min_on 100 ms  min_off 90 ms }
  sensor ready on shed { pressure above 1.4 bar  clears below 1.2 bar  min_on 50 ms  min_off 60 ms }
  signal go    = run and ready and not hold responds 30 ms
  signal in_on = TOF(go, 1.3 s)
  signal hold  = TOF(in_on, 6 s)
  drive inner  = in_on
  drive fan    = run
  require window(inner) >= 200 ms
  sequence wish on run {
    at 0 s    open outer
    at 2 s    close outer
    repeat after 8 s
  }
  scenario day {
    at 1 s switch run off
    for 3 min
  }
`;
const RIGS: Readonly<Record<string, string>> = {
  gas: `${HEAD}
  medium own gas { molar_mass 27 g/mol  heat_ratio 1.3  temperature 35 degC  law real  process polytropic  exponent 1.2
    critical_temperature 190 K  critical_pressure 46 bar  acentric_factor 0.01 }
  atmosphere { pressure 0.95 bar  temperature 12 degC }
  let settle = 1.3 s in 500 ms .. 3 s
  chamber shed { volume 4 m3  pressure 1.02 bar  temperature 21 degC  limit 5 bar  limit 80 degC  wall 12 W/K }
  chamber kiln { volume 900 L  density 1.1 kg/m3  cools_in 4 min }
  door inner { pocket 60 L  clearance 2 L  opens_in 220 ms  closes_in 240 ms  kv 60 m3/h  xt 0.7  leak 1 cm2  thrust 800 N
    power moving 200 W  power held 20 W }
  door outer { pocket 60 L  travel 260 ms  conductance 5 L/s/bar  ratio 0.3  leak 2 L/s/bar }
  door third { pocket 50 L  travel 250 ms  bore 200 mm  discharge 0.7  leak 1 % }
  door vent  { travel 300 ms }
  stack shed > inner > outer > third > kiln
  stack shed > vent > atmosphere
  feed fan into shed { rate free 60 m3/h  only below 1.6 bar  line_limit 90 m3/h  pump_limit 70 m3/h  power 3 kW }
  draw tool from kiln { rate 50 NL/min  only above 1.3 bar }
  supply { limit 5 kW }
${CONTROL.replace('TOF(go, 1.3 s)', 'TOF(go, settle)')}}
`,
  liquid: `${HEAD}
  medium own liquid { density 1180 kg/m3  bulk_modulus 2.6 GPa  vapour_pressure 20 mbar  temperature 15 degC }
  chamber shed { volume 4 m3  level 300 mm  floor_area 2 m2  elevation 100 mm }
  chamber kiln { volume 900 L  mass 50 kg  limit 800 kg  floor_area 1 m2 }
  door inner { pocket 60 L  travel 220 ms }
  door outer { pocket 60 L  travel 260 ms  area 100 cm2 }
  stack shed > inner > outer > kiln { moves 24 % }
  feed fan into shed { curve 0.9 bar 20 m3/h, 2 bar 10 m3/h, 3 bar 0.5 m3/h }
${CONTROL.replace('pressure above 1.4 bar  clears below 1.2 bar', 'level above 500 mm  clears below 400 mm')}}
`,
};

function changes(from: string, to: string): readonly DiffRow[] {
  const side = (text: string) => ({ facts: analyseRig(resolveText(text).resolution.rigs[0]!), problems: [] });
  return diffRigs(side(from), side(to), ['settings', 'parts', 'requirements', 'connections']).rows;
}

/** Where the literals of a text stand: numbers that a unit, a blank or a brace follows. */
const literals = (text: string): { readonly at: number; readonly length: number; readonly value: string }[] =>
  [...text.matchAll(/(?<![\w.])\d+(?:\.\d+)?(?= )/g)].map((m) => ({ at: m.index, length: m[0].length, value: m[0] }));

/** A little more than before; 0 becomes the smallest step there is. */
const nudged = (value: string): string =>
  Number(value) === 0 ? '0.1' : String(Number((Number(value) * 1.000_1).toFixed(6)));

describe('the difference of two versions that differ in one literal', () => {
  it.each(Object.entries(RIGS))('names it, whatever it is: %s', (_, text) => {
    expect(changes(text, text)).toEqual([]);
    const found = literals(text);
    expect(found.length).toBeGreaterThan(25);
    const silent = found.filter(({ at, length, value }) => {
      const next = text.slice(0, at) + nudged(value) + text.slice(at + length);
      return changes(text, next).length === 0;
    });
    expect(silent.map(({ at }) => text.slice(text.lastIndexOf('\n', at) + 1, at + 12))).toEqual([]);
  });

  it('names words too: kinds, sides, positions, members', () => {
    const swaps: [string, string][] = [
      ['law real', 'law ideal'],
      ['rate free', 'rate actual'],
      ['switch run = on {', 'switch run = off {'],
      [
        'sensor ready on shed { pressure above 1.4 bar  clears below',
        'sensor ready on kiln { pressure above 1.4 bar  clears below',
      ],
      ['stack shed > inner > outer > third > kiln', 'stack shed > outer > inner > third > kiln'],
      ['switch run off', 'switch run on'],
      ['at 2 s    close outer', 'at 2 s    close inner'],
      ['discharge 0.7', 'discharge 0.7  rest open'],
      ['volume 900 L', 'volume 900 L  tight gas'],
    ];
    const text = RIGS['gas']!;
    for (const [from, to] of swaps) {
      expect(text, from).toContain(from);
      expect(changes(text, text.replace(from, to)).length, `${from} → ${to}`).toBeGreaterThan(0);
    }
  });
});
