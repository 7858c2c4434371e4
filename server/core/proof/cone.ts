/**
 * What a property depends on: the doors it asks for, and the nets that decide about them (the cone of influence). Whatever else the rig does
 * can change no verdict, so "at rest" in a property means that nothing in its cone is under way: a lamp that never stops blinking, or a
 * stage beside this one that never rests, neither hides a door that stands open nor keeps a vent excused.
 *
 * Why it matters: states multiply with everything that can be under way, so leaving out what a property cannot see is the first step that
 * makes proofs small. It is exact, since nothing outside the cone is read inside it. Invariant: `nets` is closed under "is read by": every
 * net that an element of the cone reads is in it, except behind a cut.
 */
import { doorsOf, driveOf, netsOf, sourcesOf } from '../model/logic';
import type { Element, Rig } from '../model/rig';
import type { Property } from './monitor';
import type { ProofNetwork } from './network';

/** The part of a rig that some properties depend on. */
export interface Cone {
  readonly doors: ReadonlySet<number>;
  readonly nets: ReadonlySet<number>;
  /** Nets of elements that are allowed to change at any moment, so that what only they depend on is left out (see cuts.ts). */
  readonly cuts?: ReadonlySet<number>;
}

/** What must have nothing under way for a property to be at rest, by index in a proof network. */
export interface Scope {
  readonly elements: readonly number[];
  readonly doors: readonly number[];
}

/** Doors and nets that decide whether a property holds. */
export function coneOf(rig: Rig, property: Property): Cone {
  return { doors: new Set(doorsAskedFor(rig, property)), nets: sourcesOf(rig, netsSeen(rig, property)) };
}

/** Nets that a property looks at, by itself or as drives of its doors. */
export function netsSeen(rig: Rig, property: Property): number[] {
  const drives = doorsAskedFor(rig, property).flatMap((d) => driveOf(rig, d)?.net ?? []);
  return [...drives, ...netsAskedFor(property)];
}

function doorsAskedFor(rig: Rig, property: Property): readonly number[] {
  switch (property.kind) {
    case 'never':
      return doorsOf(property.condition);
    case 'trapped-pocket':
      return [property.door, ...property.outlets.flat()];
    case 'left-open':
      return [property.door];
    case 'switched-off':
      return property.doors ?? rig.doors.map((_, d) => d);
    case 'order':
      return property.events.map(({ door }) => door);
    default:
      return property.doors;
  }
}

/** Nets looked at besides the drives of doors. A switch that is thrown is always one: whether it is decides what counts. */
function netsAskedFor(property: Property): readonly number[] {
  switch (property.kind) {
    case 'never':
      return netsOf(property.condition);
    case 'switched-off':
      return [...property.switches.keys()];
    case 'straight-through':
    case 'power-loss':
      return (property.vents ?? []).map(({ net }) => net);
    default:
      return [];
  }
}

/**
 * The cone of a property in a proof network. An element put in for a moved input belongs to the one whose response it is. One that is cut may have come
 * to rest whenever the others have, so it keeps nothing from counting as at rest.
 */
export function scopeOf(rig: Rig, network: ProofNetwork, property: Property): Scope {
  const { doors, nets } = coneOf(rig, property);
  return {
    elements: [...network.elements.keys()].filter(
      (e) => !network.elements[e]!.cut && nets.has(rig.network.elements[network.elements[e]!.origin]!.net),
    ),
    doors: [...doors],
  };
}

/** Everything in a proof network. */
export const wholeScope = ({ elements, doors }: ProofNetwork): Scope => ({
  elements: [...elements.keys()],
  doors: [...doors.keys()],
});

/** The rig with everything outside a cone at a standstill; indices stay as they are. */
export function withinCone(rig: Rig, { doors, nets }: Cone): Rig {
  const elements = rig.network.elements.map((element): Element =>
    nets.has(element.net)
      ? element
      : { ...element, kind: 'LOGIC', inputs: [{ op: 'const', value: false }], preset: null },
  );
  return {
    ...rig,
    network: { ...rig.network, elements },
    drives: rig.drives.filter((d) => d.kind !== 'door' || doors.has(d.target)),
  };
}
