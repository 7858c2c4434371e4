/**
 * Sizes of proofs: rigs of growing size with everything that every rig is asked; CPU seconds, symbolic states, MiB of zones, peak memory of
 * the process, verdicts. `ROWS=TEXT` keeps the rows whose name has TEXT; `SECONDS=N` is the budget of each (default 30).
 */
import { readFileSync } from 'node:fs';
import { createDocument } from '../../server/core/document/document';
import { proveRig } from '../../server/core/run/prove-rig';
import { fan, ladder, stages } from '../support/proof-rigs';

const least = '400 ms';
const ROWS: readonly (readonly [string, string])[] = [
  ['samples/grain_blower', readFileSync('samples/grain_blower.rig', 'utf8')],
  ...[1, 2].flatMap((sensors) =>
    [3, 4, 5].flatMap((doors) =>
      (
        [
          ['ladder', ladder],
          ['fan', fan],
        ] as const
      ).flatMap(([name, make]) => {
        const words = `${name}: ${doors} doors, ${sensors} sensor${sensors > 1 ? 's' : ''}`;
        return [
          [`${words}, exact`, make({ doors, sensors })],
          [`${words}, loose`, make({ doors, sensors, loose: true })],
          [`${words}, loose, least times`, make({ doors, sensors, loose: true, least })],
        ] as [string, string][];
      }),
    ),
  ),
  ['stages: 3 + 2, apart, loose, least times', stages({ doors: [3, 2], linked: false, loose: true, least })],
  ['stages: 4 + 4, apart, loose', stages({ doors: [4, 4], linked: false, loose: true })],
  ['stages: 4 + 4, apart, loose, least times', stages({ doors: [4, 4], linked: false, loose: true, least })],
  ['stages: 4 + 4, linked, loose, least times', stages({ doors: [4, 4], linked: true, loose: true, least })],
];

const seconds = Number(process.env['SECONDS'] ?? 30);
const wanted = process.env['ROWS'] ?? '';
const cpu = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};

for (const [name, text] of ROWS) {
  if (!name.includes(wanted)) continue;
  const facts = createDocument({ uri: 'file:///size.rig', version: 0, text }, () => undefined);
  const rig = facts.resolved().rigs[0]!;
  const problems = facts.problems().filter((p) => p.severity === 'error');
  if (problems.length > 0 && process.env['PROBLEMS']) console.log(problems.map((p) => p.message));
  (globalThis as { gc?: () => void }).gc?.();
  const begun = cpu();
  const { proof } = proveRig(rig);
  let zones = 0;
  while (!proof.run(200) && cpu() - begun < seconds) zones = Math.max(zones, proof.bytes);
  const spent = cpu() - begun;
  zones = Math.max(zones, proof.bytes);
  const counts = new Map<string, number>();
  for (const { verdict } of proof.results()) counts.set(verdict.state, (counts.get(verdict.state) ?? 0) + 1);
  const verdicts = [...counts].map(([state, n]) => `${n} ${state}`).join(', ');
  const rss = process.memoryUsage().rss / 2 ** 20;
  console.log(
    `${name.padEnd(46)} ${spent.toFixed(2).padStart(7)} s  ${String(proof.explored).padStart(7)} states  ` +
      `${(zones / 2 ** 20).toFixed(1).padStart(6)} MiB zones  ${rss.toFixed(0).padStart(5)} MiB rss  ${verdicts}`,
  );
  if (process.env['WORDS'])
    for (const { property, verdict } of proof.results())
      console.log(`    ${verdict.state} ${property.name} ${verdict.state === 'undecided' ? verdict.reason : ''}`);
}
