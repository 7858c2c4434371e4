/**
 * What of a rig a property depends on, and which properties are asked together. A property about several doors that holds where it holds
 * for each is asked door by door. Those that depend on the same part share one search; properties about time, whose observers
 * would multiply the states of the others, have one each.
 *
 * One search for everything would explore the product of all stages; one for each property would explore the same stage many times. So
 * properties whose cones all but coincide share a search. "All" distributes over "and": a property about several doors holds if it does for
 * each, and one door's cone is smaller than that of all.
 */
import { driveOf, isDriven } from '../model/logic';
import type { Rig } from '../model/rig';
import { restsShut, settlesShut } from '../model/steady';
import { coneOf, type Cone } from './cone';
import type { Property } from './monitor';

/** A property, or a part of one, to be asked by itself. */
export interface Piece {
  readonly property: Property;
  /** Index of the property asked for. */
  readonly of: number;
}

/** Properties asked in one search of one part of the rig. */
export interface Part {
  readonly cone: Cone;
  readonly pieces: readonly Piece[];
}

/** "Every door comes to rest" is asked door by door; every other property is a piece by itself. */
export function piecesOf(rig: Rig, properties: readonly Property[]): Piece[] {
  return properties.flatMap((property, of): Piece[] => {
    if (property.kind !== 'switched-off') return [{ property, of }];
    // A door without a drive never leaves rest.
    const moved = rig.doors.flatMap((_, d) => (driveOf(rig, d) ? [d] : []));
    if (moved.length < 2) return [{ property, of }];
    return moved.map((door) => ({
      property: { ...property, doors: [door], name: `${property.name} (${rig.doors[door]!.name})` },
      of,
    }));
  });
}

/**
 * Whether a property about rest holds by the equations of the network alone (see `model/steady.ts`): then there is nothing to search. That no
 * rest has the door open is enough where rest is given; that the doors come to rest needs a drive that settles at off whatever was before, and
 * sensors that the property leaves free may change without end.
 */
export function restsBySettling(rig: Rig, property: Property): boolean {
  switch (property.kind) {
    case 'left-open':
      return restsShut(rig, property.door, (net) => property.initialInputs.get(net) ?? null);
    case 'switched-off': {
      const doors = property.doors ?? rig.doors.flatMap((_, d) => (isDriven(rig, d) ? [d] : []));
      return doors.every((door) => settlesShut(rig, door, (net) => property.switches.get(net) ?? null));
    }
    default:
      return false;
  }
}

/** Elements by which one part may be larger than another and still be asked together with it. */
const NEAR = 1;

/** The searches to make, the smallest part first. */
export function partsOf(rig: Rig, pieces: readonly Piece[]): Part[] {
  const parts: { cone: Cone; pieces: Piece[] }[] = [];
  // Largest first, so that a host is there before those that fit into it; reversed in the end, as small searches decide soonest.
  const largestFirst = pieces
    .map((piece) => ({ piece, cone: coneOf(rig, piece.property) }))
    .sort((a, b) => b.cone.nets.size - a.cone.nets.size);
  for (const { piece, cone } of largestFirst) {
    // Only into a part hardly larger: in a larger one the states of what this property cannot see would be explored for it as well.
    const host = parts.find(
      (part) => !isTimed(piece.property) && !part.pieces.some((p) => isTimed(p.property)) && isNear(part.cone, cone),
    );
    if (host) host.pieces.push(piece);
    else parts.push({ cone, pieces: [piece] });
  }
  return parts.reverse();
}

const isTimed = ({ kind }: Property): boolean => kind === 'gap' || kind === 'order';

/** Whether `inner` lies in `outer`, which is hardly larger. */
function isNear(outer: Cone, inner: Cone): boolean {
  return (
    outer.nets.size - inner.nets.size <= NEAR &&
    [...inner.nets].every((net) => outer.nets.has(net)) &&
    [...inner.doors].every((door) => outer.doors.has(door))
  );
}
