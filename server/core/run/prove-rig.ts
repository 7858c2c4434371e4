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
  /** Requirements that say nothing about always or never, so that proof does not apply to them. */
  readonly leftOut: readonly number[];
}

/** A proof to be run in turns (see prove.ts). `only`: of the properties whose name has this text, blanks aside; all where left out. */
export function proveRig(rig: Rig, only = ''): RigProof {
  const initial = initialInputs(rig);
  const builtin = builtinProperties(rig, initial);
  const asked = rig.requirements.map((requirement) => requirementProperty(rig, requirement));
  const all = [
    ...builtin.map((property) => ({ property, of: -1 })),
    ...asked.flatMap((property, of) => (property ? [{ property, of }] : [])),
  ];
  const wanted = all.filter(({ property }) => bare(property.name).includes(bare(only)));
  const leftOut = asked.flatMap((p, k) => (p === null && only === '' ? [k] : []));
  return {
    rig,
    proof: createProof(
      rig,
      wanted.map(({ property }) => property),
      { initial },
    ),
    requirementOf: wanted.map(({ of }) => of),
    leftOut,
  };
}

const bare = (text: string): string => text.replace(/\s/g, '').toLowerCase();
