/** Seeded logs with one fault or none, of every sample: `DIAGNOSE_CASES=300` for the long run, which prints the table of rigs and faults. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { diagnosedCases, diagnosisTable } from '../support/diagnosis-cases';
import { seeded } from '../support/random';
import { rigFrom } from '../support/rig';

const CASES = Number(process.env.DIAGNOSE_CASES ?? 24);
const SAMPLES = join(__dirname, '../../samples');
const rigs = readdirSync(SAMPLES)
  .filter((name) => name.endsWith('.rig'))
  .map((name) => rigFrom(readFileSync(join(SAMPLES, name), 'utf8')).rig);

it(`names the true fault first in 95 % of ${CASES} logs, and calls sound logs sound in 98 %`, () => {
  const cases = diagnosedCases(rigs, CASES, seeded(20));
  const faulty = cases.filter((c) => c.kind !== 'none');
  const sound = cases.filter((c) => c.kind === 'none');
  const first = (of: typeof cases): number => of.filter((c) => c.outcome === 'first').length;
  const wrong = cases
    .filter((c) => c.outcome !== 'first')
    .map((c) => `${c.rig}: ${c.mode}: ${c.outcome}; first is ${c.named}`);
  if (process.env.DIAGNOSE_CASES)
    process.stderr.write(
      [...diagnosisTable(cases, (c) => c.kind), '', ...diagnosisTable(cases, (c) => c.rig), '', ...wrong, ''].join(
        '\n',
      ),
    );
  expect(first(sound), wrong.join('\n')).toBeGreaterThanOrEqual(0.98 * sound.length);
  expect(first(faulty), wrong.join('\n')).toBeGreaterThanOrEqual(0.95 * faulty.length);
}, 1_200_000);
