/** Correct logs are called within, logs of a preset that is off are not; `COMPARE_CASES=280` for the long run, which prints the table. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { withPreset } from '../../server/core/readings/fault-list';
import { analyseRig } from '../../server/core/run/analyse';
import { comparedCase, comparedTable } from '../support/compare-cases';
import { seeded } from '../support/random';
import { rigFrom } from '../support/rig';

const CASES = Number(process.env.COMPARE_CASES ?? 28);
const SAMPLES = join(__dirname, '../../samples');
const facts = readdirSync(SAMPLES)
  .filter((name) => name.endsWith('.rig'))
  .map((name) => analyseRig(rigFrom(readFileSync(join(SAMPLES, name), 'utf8')).rig));

it(`calls fewer than 2 % of ${CASES} correct logs deviating`, () => {
  const random = seeded(5);
  const cases = Array.from({ length: CASES }, (_, n) => comparedCase(facts[n % facts.length]!, random));
  const wrong = cases.filter((c) => c.alarms + c.columns > 0);
  if (process.env.COMPARE_CASES)
    process.stderr.write(
      `${[...comparedTable(cases, (c) => c.rig), '', ...comparedTable(cases, (c) => `${c.built} ${c.reads}`)].join('\n')}\n`,
    );
  expect(wrong.length, wrong.map((c) => `${c.rig}: ${c.summary}`).join('\n')).toBeLessThanOrEqual(0.02 * CASES);
}, 600_000);

it.each(facts.map((f) => [f.rig.name, f] as const))('%s: a preset 400 ms beyond its tolerance is found', (_name, f) => {
  const { rig } = f;
  // The longest preset is one that the doors show: that of a stroke's pause or of a door held open.
  const longest = rig.network.elements.reduce(
    (best, e, k) => ((e.preset?.nominal ?? 0) > (rig.network.elements[best]!.preset?.nominal ?? 0) ? k : best),
    0,
  );
  const { preset } = rig.network.elements[longest]!;
  const built = withPreset(rig, longest, preset!.max + 400_000);
  const found = comparedCase(f, seeded(11), built);
  expect(found.alarms, found.summary).toBeGreaterThan(0);
});
