/** A packed medium is answered in the terms in which its chamber is stated: kg where the text has kg, kg/m3 where it has kg/m3. */
import { describe, expect, it } from 'vitest';
import { measureMetric } from '../../server/core/metrics/measure';
import { flowTable } from '../../server/core/report/flow-table';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';

const mill = (bin: string, hopper: string, above: string, clears: string): string => `rig mill {
  medium flour packed
  chamber bin    { volume 1 m3    ${bin} }
  chamber hopper { volume 300 L  ${hopper} }
  door top { pocket 6 L  travel 240 ms }
  door low { pocket 6 L  travel 240 ms }
  stack bin > top > low > hopper { moves 3 % }
  feed auger into bin { rate 200 g/s }
  sensor enough on bin { ${above}  clears ${clears} }
  drive top = TP(enough, 2 s)
  drive low = TP(TON(enough, 900 ms), 2.2 s)
  require peak(bin) <= 5 t
  scenario day { at 0 s feed auger on  for 1 min }
}`;
const BY_MASS = mill('mass 400 kg', 'limit 180 kg', 'mass above 420 kg', 'below 390 kg');
const BY_DENSITY = mill('density 400 kg/m3', 'limit 600 kg/m3', 'density above 420 kg/m3', 'below 390 kg/m3');
const facts = (text: string) => analyseRig(rigFrom(text).rig);

/** What is said beneath the table, which is in kg for every medium. */
const sentences = (text: string): string =>
  flowTable(facts(text))
    .filter((line) => /: from |reaches? |at most /.test(line))
    .join('\n');

describe('a packed medium', () => {
  it('stated in kg is answered in kg', () => {
    expect(sentences(BY_MASS)).toMatch(/bin: from [\d.]+ kg to [\d.]+ kg/);
    expect(sentences(BY_MASS)).not.toContain('kg/m3');
  });

  it('stated in kg/m3 is answered in kg/m3', () => {
    expect(sentences(BY_DENSITY)).toMatch(/bin: from [\d.]+ kg\/m3 to [\d.]+ kg\/m3/);
    expect(sentences(BY_DENSITY)).not.toMatch(/kg(?!\/m3)/);
  });

  it('and so is a question without a comparison', () => {
    const asked = (text: string) => {
      const of = facts(text);
      const requirement = { ...of.rig.requirements[0]!, comparison: null, during: 0 };
      return measureMetric(of, requirement);
    };
    expect(asked(BY_MASS)).toMatchObject({ kind: 'values', dimension: 'mass' });
    expect(asked(BY_DENSITY)).toMatchObject({ kind: 'values', dimension: 'density' });
  });
});
