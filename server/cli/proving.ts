/** Proofs on the command line: turns of the proof engine until all is decided or the budget is used up. */
import { isIncomplete } from '../core/features/lookup';
import { proofProblems } from '../core/features/proof-results';
import type { Problem } from '../core/model/problem';
import type { Rig } from '../core/model/rig';
import { spentBudget, type ProofBudget } from '../core/proof/budget';
import { proveRig, type RigProof } from '../core/run/prove-rig';
import type { Input } from './inputs';
import { UsageError, type Io } from './io';
import { stringOf, type Values } from './commands/command';

export const BUDGET_HELP = [
  '--states N              give up after N symbolic states (default 200000)',
  '--seconds N             give up after N seconds a rig (default 60)',
  '--memory MIB            give up when the states kept take this much (default 1024)',
];
export const BUDGET_OPTIONS = {
  states: { type: 'string' },
  seconds: { type: 'string' },
  memory: { type: 'string' },
} as const;

/** The budget that the options of a command give. */
export function budgetOf(values: Values): ProofBudget {
  const read = (name: string, standard: number): number => {
    const text = stringOf(values, name);
    const value = text === undefined ? standard : Number(text);
    if (!(value > 0) || value === Infinity) throw new UsageError(`--${name} wants a number above zero, not ${text}.`);
    return value;
  };
  return { states: read('states', 200_000), seconds: read('seconds', 60), bytes: read('memory', 1024) * 1024 * 1024 };
}

/** A proof begun, and the milliseconds that its beginning took, which count against its budget. */
export interface Begun {
  readonly rigProof: RigProof;
  readonly took: number;
}

/** Finds what is to be proved about a rig; `only` as in `proveRig`. */
export function beginProof(rig: Rig, only?: string): Begun {
  const started = performance.now();
  const rigProof = proveRig(rig, only);
  return { rigProof, took: performance.now() - started };
}

/** Runs a proof within its budget, looking at the clock after every step; says on a terminal how far it is. */
export function runProof(io: Io, { rigProof, took }: Begun, budget: ProofBudget): RigProof {
  const { proof, rig } = rigProof;
  const started = performance.now() - took;
  let said = started;
  while (!proof.run(1)) {
    const now = performance.now();
    const spent = spentBudget(proof, budget, (now - started) / 1000);
    if (spent) {
      proof.giveUp(spent);
      break;
    }
    if (io.colour && now - said > 1000) {
      io.err(`${rig.name}: ${proof.explored} symbolic states …\n`);
      said = now;
    }
  }
  return rigProof;
}

/** What proofs of all rigs of a file find; rigs whose control could not be read are passed over, as by every check. */
export function proofFindings(io: Io, { document }: Input, budget: ProofBudget): Problem[] {
  return document.analysed().flatMap((facts) => {
    if (isIncomplete(facts.rig)) return [];
    return proofProblems(runProof(io, beginProof(facts.rig), budget));
  });
}
