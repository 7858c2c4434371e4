/** What a proof says, as problems at the places it is about, as pictures of its counter-examples, and as one sentence. */
import type { TimingModel } from '../diagram/timing/model';
import { traceModel } from '../diagram/timing/model';
import type { Problem } from '../model/problem';
import { operationLines } from '../report/proof-report';
import type { RigProof } from '../run/prove-rig';

/** One problem per property that is not proved: at its requirement, or at the rig's name for a built-in property. */
export function proofProblems({ rig, proof, requirementOf }: RigProof): Problem[] {
  return proof.results().flatMap(({ property, verdict }, i): Problem[] => {
    if (verdict.state === 'proved') return [];
    const at = rig.requirements[requirementOf[i] ?? -1]?.at ?? rig.at;
    if (verdict.state === 'undecided') {
      const message = `The proof of "${property.name}" is not decided: ${verdict.reason}.`.replace(/\.\.$/, '.');
      return [{ code: 'require/undecided', severity: 'warning', message, at }];
    }
    const steps = operationLines(rig, verdict.witness, proof.network).join('; ');
    return [{ code: 'require/refuted', severity: 'error', message: `"${property.name}" is refuted: ${steps}.`, at }];
  });
}

/** Timing diagrams of the counter-examples, in order of the properties. */
export function counterExamples({ rig, proof }: RigProof): TimingModel[] {
  return proof
    .results()
    .flatMap(({ property, verdict }) =>
      verdict.state === 'refuted' ? [traceModel(rig, verdict.trace, `Counter-example: ${property.name}`)] : [],
    );
}

/** `quay_lock: 4 proved, 1 refuted, 0 undecided.` */
export function proofSummary({ rig, proof }: RigProof): string {
  const count = (state: string): number => proof.results().filter((r) => r.verdict.state === state).length;
  return `${rig.name}: ${count('proved')} proved, ${count('refuted')} refuted, ${count('undecided')} undecided.`;
}
