/** What a proof says, as problems at the places it is about, as pictures of its counter-examples, and as one sentence. */
import type { ExampleSteps, ProofMark } from '../diagram/preview-model';
import type { TimingModel } from '../diagram/timing/model';
import { traceModel } from '../diagram/timing/model';
import type { Problem, Source } from '../model/problem';
import type { Rig } from '../model/rig';
import type { Trace } from '../timing/trace';
import { operationLines } from '../report/proof-report';
import type { RigProof } from '../run/prove-rig';
import { say } from '../words/say';

/** One problem per property that is not proved: at its requirement, or at the rig's name for a built-in property. */
export function proofProblems(rigProof: RigProof): Problem[] {
  const { rig, proof } = rigProof;
  return proof.results().flatMap(({ property, verdict }, i): Problem[] => {
    if (verdict.state === 'proved') return [];
    const at = placeOf(rigProof, i);
    if (verdict.state === 'undecided') {
      const message = say`The proof of "${property.name}" is not decided: ${verdict.reason}.`.replace(/\.\.$/, '.');
      return [{ code: 'require/undecided', severity: 'warning', message, at }];
    }
    const steps = operationLines(rig, verdict.witness, proof.network).join('; ');
    const drifting = verdict.times === 'drifting';
    const message = drifting
      ? say`"${property.name}" is refuted for times that drift within their tolerance from use to use: ${steps}.`
      : say`"${property.name}" is refuted: ${steps}.`;
    return [{ code: 'require/refuted', severity: 'error', message, at }];
  });
}

/** Where the finding about the property with this index stands: its requirement, or the name of the rig. */
export const placeOf = ({ rig, requirementOf }: RigProof, i: number): Source =>
  rig.requirements[requirementOf[i] ?? -1]?.at ?? rig.at;

/** The timing diagram of a counter-example to a property. */
export const counterExample = (rig: Rig, trace: Trace, property: string): TimingModel =>
  traceModel(rig, trace, { key: exampleName(property), text: say`Counter-example: ${property}` });

/** Timing diagrams of the counter-examples, in order of the properties. */
export function counterExamples({ rig, proof }: RigProof): TimingModel[] {
  return proof
    .results()
    .flatMap(({ property, verdict }) =>
      verdict.state === 'refuted' ? [counterExample(rig, verdict.trace, property.name)] : [],
    );
}

/** The proof as a mark at its rig, with its counter-examples as steps. */
export function proofMark(rigProof: RigProof): ProofMark {
  const { rig, proof } = rigProof;
  const results = proof.results();
  const count = (state: string): number => results.filter((r) => r.verdict.state === state).length;
  const [proved, refuted, undecided] = [count('proved'), count('refuted'), count('undecided')];
  const rest = [refuted > 0 && say`${refuted} refuted`, undecided > 0 && say`${undecided} undecided`].filter(
    (p) => p !== false,
  );
  const examples = results.flatMap(({ property, verdict }, i): ExampleSteps[] => {
    if (verdict.state !== 'refuted') return [];
    const { operations, end } = verdict.witness;
    const done = operations.map(({ t, input, value }) => ({
      t,
      text: value
        ? say`${proof.network.inputs[input]!.name} goes on`
        : say`${proof.network.inputs[input]!.name} goes off`,
    }));
    const picture = `${rig.name}/${exampleName(property.name)}`;
    const steps = [...done, { t: end, text: say`${property.name} is broken` }];
    return [{ picture, property: property.name, at: placeOf(rigProof, i), steps }];
  });
  return {
    text: [say`Proved for this text: ${proved} of ${results.length}`, ...rest].join(', '),
    state: refuted > 0 ? 'refuted' : undecided > 0 ? 'undecided' : 'proved',
    examples,
  };
}

const exampleName = (property: string): string => `Counter-example: ${property}`;

/** `quay_lock: 4 proved, 1 refuted, 0 undecided.` */
export function proofSummary({ rig, proof }: RigProof): string {
  const count = (state: string): number => proof.results().filter((r) => r.verdict.state === state).length;
  return say`${rig.name}: ${count('proved')} proved, ${count('refuted')} refuted, ${count('undecided')} undecided.`;
}
