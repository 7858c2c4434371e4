/** The proof of one rig: built-in properties and the requirements about always and never, from its start contents. */
import type { Rig } from '../model/rig';
import { initialInputs } from '../timing/engine';
import { builtinProperties, requirementProperty } from '../proof/builtin';
import { createProof, type Proof } from '../proof/prove';

export interface RigProof {
  readonly rig: Rig;
  readonly proof: Proof;
  /** Index into `rig.requirements` for each property of the proof, −1 for a built-in one. */
  readonly requirementOf: readonly number[];
  /** Requirements that say nothing about always or never, so that a proof is no question for them. */
  readonly leftOut: readonly number[];
}

/** A proof to be run in turns (see prove.ts). */
export function proveRig(rig: Rig): RigProof {
  const initial = initialInputs(rig);
  const builtin = builtinProperties(rig, initial);
  const asked = rig.requirements.map((requirement) => requirementProperty(rig, requirement));
  const properties = [...builtin, ...asked.filter((p) => p !== null)];
  const requirementOf = [...builtin.map(() => -1), ...asked.flatMap((p, k) => (p ? [k] : []))];
  const leftOut = asked.flatMap((p, k) => (p ? [] : [k]));
  return { rig, proof: createProof(rig, properties, { initial }), requirementOf, leftOut };
}
