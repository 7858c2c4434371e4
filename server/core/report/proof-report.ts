/** Verdicts of a proof as text that a person reads, and as plain data. */
import type { Rig } from '../model/rig';
import type { RigProof } from '../run/prove-rig';
import type { ProofResult } from '../proof/prove';
import type { Witness } from '../proof/witness';
import type { ProofNetwork } from '../proof/network';
import { looseTimes, type TimeParameter } from '../timing/tolerance';
import { formatTime } from '../units/units';
import { say } from '../words/say';

const WORDS = { proved: 'proved', refuted: 'REFUTED', undecided: 'undecided' } as const;

export function proofReport({ rig, proof, leftOut }: RigProof): string[] {
  const lines = [rig.title ? `${rig.name}: ${rig.title}` : rig.name, ''];
  for (const result of proof.results()) lines.push(...resultLines(rig, result, proof.network));
  for (const k of leftOut) lines.push(say`  not about always or never: ${rig.requirements[k]!.text}`);
  lines.push(
    '',
    say`  ${proof.explored} symbolic states explored, ${proof.stored} kept, ${(proof.bytes / 1024).toFixed(0)} KiB of states.`,
  );
  lines.push(
    say`  Inputs that change freely: ${inputNames(proof.network)}. Every time may be anything within its tolerance.`,
  );
  return lines;
}

function inputNames(network: ProofNetwork): string {
  return network.inputs.length === 0 ? 'none' : network.inputs.map((i) => i.name).join(', ');
}

function resultLines(rig: Rig, { property, verdict }: ProofResult, network: ProofNetwork): string[] {
  const head = `  ${WORDS[verdict.state].padEnd(9)} ${property.name}`;
  if (verdict.state === 'proved') return [head];
  if (verdict.state === 'undecided') return [head, `            ${verdict.reason}`];
  const drifts = verdict.times === 'drifting' ? say` (for drifting times)` : '';
  return [head + drifts, ...operationLines(rig, verdict.witness, network).map((line) => `            ${line}`)];
}

/** The counter-example as steps that a person can follow on the rig. */
export function operationLines(rig: Rig, witness: Witness, network: ProofNetwork): string[] {
  const steps = witness.operations.map(
    ({ t, input, value }) => `at ${formatTime(t)} ${network.inputs[input]!.name} ${value ? 'on' : 'off'}`,
  );
  const what = steps.length === 0 ? say`no operation` : steps.join(', ');
  return [say`from ${witness.from}: ${what}; broken at ${formatTime(witness.end)}`, ...timeLines(rig, witness)];
}

/** The times of the counter-example that have a tolerance. */
function loosened(rig: Rig, witness: Witness): { readonly parameter: TimeParameter; readonly time: number }[] {
  const loose = looseTimes(rig);
  return witness.durations.flatMap(({ what, index, time }) => {
    const parameter = loose.find((p) => p.what === what && p.index === index);
    return parameter ? [{ parameter, time }] : [];
  });
}

function timeLines(rig: Rig, witness: Witness): string[] {
  const uses = new Map<string, string[]>();
  for (const { parameter, time } of loosened(rig, witness))
    uses.set(parameter.name, [...(uses.get(parameter.name) ?? []), formatTime(time)]);
  if (uses.size === 0) return [];
  // A time that stays the same at every use is printed once.
  const words = [...uses].map(
    ([name, times]) => `${name} ${new Set(times).size === 1 ? times[0] : times.join(` ${say`then`} `)}`,
  );
  return [say`with ${words.join(', ')}`];
}

export interface ProofJson {
  readonly name: string;
  readonly explored: number;
  readonly stored: number;
  readonly results: readonly {
    readonly property: string;
    readonly verdict: 'proved' | 'refuted' | 'undecided';
    readonly reason: string | null;
    /** Whether a counter-example needs times that differ from use to use; null where there is none. */
    readonly drifting: boolean | null;
    /** What the times of a counter-example count from; null where there is none. */
    readonly from: 'rest' | 'power-on' | null;
    readonly operations: readonly { readonly t: number; readonly input: string; readonly value: boolean }[] | null;
    readonly brokenAt: number | null;
    /** The times with a tolerance that the counter-example has, seconds; null where there is none. */
    readonly times: readonly { readonly what: string; readonly name: string; readonly value: number }[] | null;
  }[];
}

/** Times in seconds. */
export function proofJson({ rig, proof }: { rig: Rig; proof: RigProof['proof'] }): ProofJson {
  return {
    name: rig.name,
    explored: proof.explored,
    stored: proof.stored,
    results: proof.results().map(({ property, verdict }) => ({
      property: property.name,
      verdict: verdict.state,
      reason: verdict.state === 'undecided' ? verdict.reason : null,
      drifting: verdict.state === 'refuted' ? verdict.times === 'drifting' : null,
      from: verdict.state === 'refuted' ? verdict.witness.from : null,
      operations:
        verdict.state === 'refuted'
          ? verdict.witness.operations.map((o) => ({
              t: o.t / 1e6,
              input: proof.network.inputs[o.input]!.name,
              value: o.value,
            }))
          : null,
      brokenAt: verdict.state === 'refuted' ? verdict.witness.end / 1e6 : null,
      times:
        verdict.state === 'refuted'
          ? loosened(rig, verdict.witness).map(({ parameter, time }) => ({
              what: parameter.what,
              name: parameter.name,
              value: time / 1e6,
            }))
          : null,
    })),
  };
}
