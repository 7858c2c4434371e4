/**
 * Whether and when a recorded trace breaks a property: the same words as in monitor.ts, read off edges and door movements.
 *
 * Written apart from the monitors on purpose: it confirms what they find, and code that is shared would share its faults. A trace changes
 * only at the moments of its edges and movements, so a property of states is asked at those moments and nowhere else; values and positions
 * are those just after a moment, which is why a state that lasts no time never shows.
 */
import { idlesOpen } from '../model/intent';
import { holds } from '../model/logic';
import type { Condition, Rig } from '../model/rig';
import { headingAt, notShutAt, positionAt } from '../model/motion';
import { doorEvents, momentsOfDoor, netAt, thrownTimes } from '../timing/course';
import type { Trace } from '../timing/trace';
import { coneOf, type Cone } from './cone';
import { isVented, restingDoors, type PathProperty, type Property } from './monitor';

/**
 * The first moment at which a recorded trace breaks a property; null where it does not. `calm`: moments at which nothing that the property
 * depends on was under way; the end of the trace where left out. `left-open` and `switched-off` are judged at the last of them: what they depend
 * on changed last at the moment given. A vent that is back excuses what follows until the first of them.
 */
export function brokenAt(
  property: Property,
  rig: Rig,
  trace: Trace,
  calm: readonly number[] = [trace.end],
): number | null {
  const moments = momentsOf(trace);
  const first = (holds: (t: number) => boolean): number | null => moments.find(holds) ?? null;
  const atRest = (isBroken: (t: number) => boolean): number | null => {
    const last = calm[calm.length - 1];
    return last !== undefined && isBroken(last) ? lastMoment(trace, coneOf(rig, property), last) : null;
  };
  switch (property.kind) {
    case 'straight-through':
    case 'power-loss': {
      // Power loss sends every door to its rest position: one that rests open counts as open at any moment.
      const open = (t: number): boolean =>
        property.doors.every(
          (d) => notShutAt(trace.doors[d]!, t) || (property.kind === 'power-loss' && rig.doors[d]!.rest === 'open'),
        );
      const cone = coneOf(rig, property);
      // Calm was noticed at t; it began with the last change before.
      const rests = isVented(property) ? calm.map((t) => lastMoment(trace, cone, t)) : [];
      const isExcused = (t: number): boolean => isVentedAt(property, trace, t, rests);
      return first((t) => open(t) && !isExcused(t));
    }
    case 'never':
      return first((t) => holdsAt(property.condition, trace, t));
    case 'trapped-pocket':
      return first(
        (t) =>
          isClosingAt(trace, property.door, t) &&
          property.outlets.every((side) => side.length > 0 && side.some((d) => !notShutAt(trace.doors[d]!, t))),
      );
    case 'left-open':
      // What comes to rest before all inputs are back is meant to be held open by them.
      return atRest((t) => standAt(property.initialInputs, trace, t) && awayAt(rig, trace, property.door, t));
    case 'switched-off':
      return atRest(
        (t) =>
          standAt(property.switches, trace, t) && restingDoors(property, rig).some((d) => awayAt(rig, trace, d, t)),
      );
    case 'gap':
      return gapBroken(property.doors, property.least, trace, moments);
    case 'order':
      return orderBroken(property.events, trace);
  }
}

/** Whether a door is closing at `t`; one with no travel at the moment at which it shuts. */
function isClosingAt(trace: Trace, door: number, t: number): boolean {
  const track = trace.doors[door]!;
  return headingAt(track, t) === 0 || track.moves.some((m) => m.t === t && m.arrives === t && m.to === 0 && m.from > 0);
}

/** Whether a vent is thrown at `t`, or was and nothing has come to rest since it is back. `rests`: moments from which something is at rest. */
function isVentedAt({ vents }: PathProperty, trace: Trace, t: number, rests: readonly number[]): boolean {
  return (vents ?? []).some((vent) =>
    thrownTimes(trace, vent).some(({ from, to }) => {
      // Thrown from `from` to `to`; after that excused until the first moment of rest.
      const since = to ?? Infinity;
      return from <= t && (t < since || !rests.some((rest) => rest >= since && rest <= t));
    }),
  );
}

/** The last moment up to `end` at which something of a cone changed. */
function lastMoment({ start, edges, doors }: Trace, cone: Cone, end: number): number {
  const moments = [
    ...edges.filter((e) => cone.nets.has(e.net)).map((e) => e.t),
    ...[...cone.doors].flatMap((d) => doors[d]!.moves.flatMap((m) => [m.t, m.arrives])),
  ];
  return moments.reduce((last, t) => (t <= end ? Math.max(last, t) : last), start);
}

/** Every time at which an edge or a movement begins or ends: between two of them nothing changes but positions. */
function momentsOf(trace: Trace): number[] {
  const times = new Set([trace.start]);
  for (const edge of trace.edges) times.add(edge.t);
  for (const door of trace.doors) for (const move of door.moves) times.add(move.t).add(move.arrives);
  return [...times].filter((t) => t <= trace.end).sort((a, b) => a - b);
}

/** Whether a door is on the move, or stands elsewhere than while the rig does nothing. */
export function awayAt(rig: Rig, trace: Trace, door: number, t: number): boolean {
  const rest = idlesOpen(rig, door) ? 1 : 0;
  return headingAt(trace.doors[door]!, t) !== null || positionAt(trace.doors[door]!, t) !== rest;
}

/** Whether nets have these values just after t. */
export function standAt(values: ReadonlyMap<number, boolean>, trace: Trace, t: number): boolean {
  return [...values].every(([net, value]) => netAt(trace, net, t) === value);
}

function holdsAt(condition: Condition, trace: Trace, t: number): boolean {
  return holds(condition, {
    net: (net) => netAt(trace, net, t),
    notShut: (door) => notShutAt(trace.doors[door]!, t),
  });
}

function gapBroken(
  [a, b]: readonly [number, number],
  least: number,
  trace: Trace,
  moments: readonly number[],
): number | null {
  const together = moments.filter((t) => notShutAt(trace.doors[a]!, t) && notShutAt(trace.doors[b]!, t));
  // Every pair of "one shuts, the other opens later": the nearest decides, and the earliest break is wanted.
  const tooSoon = (one: number, other: number): number[] =>
    momentsOfDoor(trace.doors[one]!, 'shuts').flatMap((shut) =>
      momentsOfDoor(trace.doors[other]!, 'opens').filter((t) => t >= shut && t - shut < least && t <= trace.end),
    );
  const broken = [...together, ...tooSoon(a, b), ...tooSoon(b, a)];
  return broken.length === 0 ? null : Math.min(...broken);
}

function orderBroken(events: Extract<Property, { kind: 'order' }>['events'], trace: Trace): number | null {
  const happened = trace.doors
    .flatMap((track, door) => doorEvents(track).map(({ t, event }) => ({ t, door, event })))
    .filter((h) => h.t <= trace.end && events.some((e) => e.door === h.door && e.event === h.event))
    .sort((x, y) => x.t - y.t);
  let place = 0;
  let before = -1;
  for (let k = 0; k < happened.length; k++) {
    const expected = events[place]!;
    // Of those at one moment the expected one is looked at first.
    const turn = happened.findIndex((h, j) => j >= k && h.t === happened[k]!.t && sameEvent(h, expected));
    if (turn < 0 || (place > 0 && happened[turn]!.t === before)) return happened[k]!.t;
    // Swapped, not removed: those of the moment that were passed over still have to find their turn.
    [happened[k], happened[turn]] = [happened[turn]!, happened[k]!];
    before = happened[k]!.t;
    place = (place + 1) % events.length;
  }
  return null;
}

interface NamedEvent {
  readonly door: number;
  readonly event: string;
}

const sameEvent = (a: NamedEvent, b: NamedEvent): boolean => a.door === b.door && a.event === b.event;
