/**
 * How many random questions stay undecided at the default budget of `caisson prove`, by reason: small rigs with everything that every rig is
 * asked and a question or two more. `SEED` and `RIGS` make other runs, `STATES` and `SECONDS` (a rig) other budgets; `WORDS=1` prints each.
 */
import { spentBudget } from '../../server/core/proof/budget';
import { createProof } from '../../server/core/proof/prove';
import { initialInputs } from '../../server/core/timing/engine';
import { seededRandom } from '../../server/core/timing/tolerance';
import { randomProperties, randomSmallRig, rigWords } from '../support/random-rig';

const number = (name: string, otherwise: number): number => Number(process.env[name] ?? otherwise);
const SEED = number('SEED', 20261);
const RIGS = number('RIGS', 150);
const budget = { states: number('STATES', 200_000), seconds: number('SECONDS', 60), bytes: 2 ** 30 };
const cpu = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};
/** "the budget of 200,000 states ran out after 381 symbolic states" and its like count as one reason. */
const grouped = (reason: string): string => reason.replace(/ ran out after .*/, ' ran out');

const random = seededRandom(SEED);
const reasons = new Map<string, number>();
let asked = 0;
let open = 0;
const begun = cpu();
for (let k = 0; k < RIGS; k++) {
  const rig = randomSmallRig(random);
  const proof = createProof(rig, randomProperties(random, rig), { initial: initialInputs(rig) });
  const started = cpu();
  for (let done = false; !done;) {
    done = proof.run(200);
    const spent = done ? null : spentBudget(proof, budget, cpu() - started);
    if (spent !== null) proof.giveUp(spent);
    done ||= spent !== null;
  }
  for (const { property, verdict } of proof.results()) {
    asked++;
    if (verdict.state !== 'undecided') continue;
    open++;
    const reason = `${rig.controller.style}: ${grouped(verdict.reason)}`;
    reasons.set(reason, (reasons.get(reason) ?? 0) + 1);
    if (process.env['WORDS'])
      console.log(
        `  rig ${k}, ${(cpu() - started).toFixed(1)} s, ${property.name}: ${verdict.reason}\n    ${rigWords(rig)}`,
      );
  }
}
const share = (n: number): string => `${((100 * n) / asked).toFixed(2).padStart(5)} %`;
console.log(`seed ${SEED}, ${RIGS} rigs, ${(cpu() - begun).toFixed(0)} s of processor`);
console.log(`${share(open)}  ${open} of ${asked} questions undecided`);
for (const [reason, n] of [...reasons].sort((a, b) => b[1] - a[1])) console.log(`${share(n)}  ${n}  ${reason}`);
