/** Whether and when a recorded trace breaks a property: the same words as in monitor.ts, read off edges and door movements. */
import { idlesOpen } from '../model/intent';
import { holds } from '../model/logic';
import type { Condition, Rig } from '../model/rig';
import { headingAt, notShutAt, positionAt } from '../model/motion';
import { doorEvents, momentsOfDoor, netAt, thrownTimes } from '../timing/course';
import type { Trace } from '../timing/trace';
import { coneOf, type Cone } from './cone';
import { restingDoors, type PathProperty, type Property } from './monitor';

/**
 * The first moment at which a recorded trace breaks a property; null where it does not. `left-open` and `switched-off` are looked at in the
 * end of the trace, by which what they depend on must have come to rest: the moment is then that of the last edge or movement of it.
 */
export function brokenAt(property: Property, rig: Rig, trace: Trace): number | null {
  const moments = momentsOf(trace);
  const first = (holds: (t: number) => boolean): number | null => moments.find(holds) ?? null;
  const atRest = (broken: boolean): number | null => (broken ? lastMoment(trace, coneOf(rig, property)) : null);
  switch (property.kind) {
    case 'straight-through':
    case 'power-loss': {
      const open = (t: number): boolean =>
        property.doors.every(
          (d) => notShutAt(trace.doors[d]!, t) || (property.kind === 'power-loss' && rig.doors[d]!.rest === 'open'),
        );
      // A vent that is back excuses nothing once the rig has come to rest, which is how the trace ends.
      const isExcused = (t: number): boolean => t < trace.end && isVentedAt(property, trace, t);
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
      return atRest(awayAt(rig, trace, property.door, trace.end));
    case 'switched-off':
      return atRest(
        standAt(property.switches, trace, trace.end) &&
          restingDoors(property, rig).some((d) => awayAt(rig, trace, d, trace.end)),
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

/** Whether a vent is thrown at `t`, or its path has not been shut since. */
function isVentedAt({ vents, doors }: PathProperty, trace: Trace, t: number): boolean {
  return (vents ?? []).some((vent) =>
    thrownTimes(trace, vent).some(({ from, to }) => {
      if (from > t) return false;
      const since = to ?? Infinity;
      return (
        t < since ||
        !momentsOf(trace).some((m) => m >= since && m <= t && doors.some((d) => !notShutAt(trace.doors[d]!, m)))
      );
    }),
  );
}

/** The last moment at which something of a cone changed. */
function lastMoment({ start, end, edges, doors }: Trace, cone: Cone): number {
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
