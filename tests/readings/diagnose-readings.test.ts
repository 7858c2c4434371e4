/**
 * Seeded logs of doors and of what chambers hold, with one fault or none, of every sample whose flow can be followed: `DIAGNOSE_CASES=300` for
 * the long run, which prints the table of rigs, faults, noise and missing columns.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { analyseRig } from '../../server/core/run/analyse';
import { diagnosisTable } from '../support/diagnosis-cases';
import { gaugesOf, readCases } from '../support/diagnosis-readings';
import { seeded } from '../support/random';
import { rigFrom } from '../support/rig';

const CASES = Number(process.env.DIAGNOSE_CASES ?? 7);
const SEED = Number(process.env.SEED ?? 31);
const SAMPLES = join(__dirname, '../../samples');
const rigs = readdirSync(SAMPLES)
  .filter((name) => name.endsWith('.rig'))
  .map((name) => rigFrom(readFileSync(join(SAMPLES, name), 'utf8')).rig)
  .filter((rig) => gaugesOf(rig).length > 0)
  .map((rig) => analyseRig(rig));

it(`names the true fault, or one whose readings are the same, first in 95 % of ${CASES} logs of chambers`, () => {
  const cases = readCases(rigs, CASES, seeded(SEED));
  const faulty = cases.filter((c) => c.kind !== 'none');
  const sound = cases.filter((c) => c.kind === 'none');
  const first = (of: typeof cases): number => of.filter((c) => c.outcome === 'first').length;
  const wrong = cases
    .filter((c) => c.outcome !== 'first')
    .map((c) => `${c.rig}: ${c.mode}: ${c.outcome}; first is ${c.named}`);
  const parts = (c: (typeof cases)[number]): string[] => c.rig.split(', ');
  if (process.env.DIAGNOSE_CASES)
    process.stderr.write(
      [
        ...diagnosisTable(cases, (c) => c.kind),
        '',
        ...diagnosisTable(cases, (c) => parts(c)[0]!),
        '',
        ...diagnosisTable(cases, (c) => parts(c).at(-1)!),
        '',
        ...diagnosisTable(cases, (c) => parts(c).slice(1, -1).join(', ') || 'all columns'),
        '',
        ...wrong,
        '',
      ].join('\n'),
    );
  expect(first(sound), wrong.join('\n')).toBeGreaterThanOrEqual(0.98 * sound.length);
  expect(first(faulty), wrong.join('\n')).toBeGreaterThanOrEqual(0.95 * faulty.length);
}, 1_200_000);
