import { describe, expect, it } from 'vitest';
import { scenarioFlowCsv, scenarioFlowJson, scenarioFlowTable } from '../../server/core/report/scenario-flow';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';

// 0.05 kg/s for 40 s into 1 m3 of air at 20 °C: 2 kg more, and 84.15 kPa each kg (R T/V = 287.05 · 293.15).
const TEXT = `rig r {
  medium air
  chamber tank { volume 1 m3  pressure 1 bar  limit 2.5 bar }
  chamber side { volume 1 m3  pressure 1 bar }
  door d { pocket 10 L }
  stack tank > d > side
  switch s = off
  drive d = s
  feed blower into tank { rate 50 g/s }
  scenario fill { at 0 s feed blower on  at 40 s feed blower off  for 1 min }
}`;
const facts = analyseRig(rigFrom(TEXT).rig);
const START = (1e5 * 0.0289655) / (8.314462618 * 293.15);

describe('a scenario with its contents', () => {
  it('as JSON: every chamber over time, how it was obtained, what each line moved', () => {
    const json = scenarioFlowJson(facts, 0)!;
    expect(json).toMatchObject({ name: 'r', scenario: 'fill', obtained: 'followed', seconds: 60 });
    expect(json.lines).toMatchObject([{ name: 'blower', kind: 'feed' }]);
    expect(json.lines[0]!.mass).toBeCloseTo(2, 9);
    const last = json.points.at(-1)!;
    expect(last.seconds).toBe(60);
    expect(last.chambers[0]!.mass).toBeCloseTo(START + 2, 6);
    expect(last.chambers[0]!.pressure! / (1e5 * (1 + 2 / START))).toBeCloseTo(1, 9);
    expect(last.chambers[1]!.mass).toBeCloseTo(START, 9);
    // The limit of 2.5 bar is passed once 1.5 bar more have come in, 1.5 START / 0.05 s; it is noted at the next event of the run.
    expect(json.chambers[0]!.overLimit).toBeGreaterThanOrEqual((1.5 * START) / 0.05 - 1e-3);
    expect(json.chambers[0]!.overLimit).toBeLessThanOrEqual(40);
    expect(json.chambers[1]!.overLimit).toBeNull();
  });

  it('as CSV in SI units, one line a point', () => {
    const [head, first, ...rest] = scenarioFlowCsv(facts, 0)!.trimEnd().split('\n');
    expect(head).toBe(
      't_s,strokes,tank.mass_kg,tank.pressure_Pa,tank.temperature_K,side.mass_kg,side.pressure_Pa,side.temperature_K',
    );
    expect(first!.split(',').map(Number).slice(0, 2)).toEqual([0, 0]);
    expect(rest.at(-1)!.split(',').map(Number)[3]).toBeCloseTo(1e5 * (1 + 2 / START), -1);
  });

  it('as a table of at most 21 rows, with the law it assumes', () => {
    const lines = scenarioFlowTable(facts, 0)!;
    expect(lines[0]).toBe('r, scenario fill, followed for 60 s:');
    expect(lines[1]).toContain('air, ideal gas, isothermal');
    expect(lines.filter((line) => /bar .*bar/.test(line)).length).toBeLessThanOrEqual(21);
    expect(lines.join('\n')).toContain('OVER LIMIT: tank from');
    expect(lines.join('\n')).toContain('feed blower: 2 kg in all.');
  });

  it('has one blank line before the caution, also where nothing is said beneath the table', () => {
    const bare = TEXT.replace('  feed blower into tank { rate 50 g/s }\n', '')
      .replace('  limit 2.5 bar', '')
      .replace('at 0 s feed blower on  at 40 s feed blower off', 'at 5 s switch s on');
    for (const text of [TEXT, bare]) {
      const lines = scenarioFlowTable(analyseRig(rigFrom(text).rig), 0)!;
      expect(lines.filter((line, k) => line === '' && lines[k - 1] === '')).toEqual([]);
      expect(lines.at(-2)).toBe('');
    }
  });

  it('leaves out the atmosphere, which has no contents', () => {
    const text = TEXT.replace(
      'stack tank > d > side',
      'stack tank > d > side > v > atmosphere\n  door v\n  drive v = s',
    );
    expect(rigFrom(text).rig.chambers).toHaveLength(3);
  });

  it('of a rig without a medium there is none', () =>
    expect(scenarioFlowCsv(analyseRig(rigFrom('rig r {\nscenario m { for 1 h }\n}').rig), 0)).toBeNull());
});
