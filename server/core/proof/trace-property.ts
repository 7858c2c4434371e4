/** Whether a recorded trace breaks a property: the same words as in monitor.ts, read off edges and door movements. */
import { idlesOpen } from '../model/intent';
import { holds } from '../model/logic';
import type { Condition, Rig } from '../model/rig';
import type { DoorMove, DoorTrack, Trace } from '../timing/trace';
import type { Property } from './monitor';

/** `left-open` and `switched-off` are looked at in the end of the trace: it must have come to rest. */
export function breaks(property: Property, rig: Rig, trace: Trace): boolean {
  const moments = momentsOf(trace);
  switch (property.kind) {
    case 'straight-through':
      return moments.some((t) => property.doors.every((d) => notShut(trace.doors[d]!, t)));
    case 'power-loss':
      return moments.some((t) =>
        property.doors.every((d) => rig.doors[d]!.rest === 'open' || notShut(trace.doors[d]!, t)),
      );
    case 'never':
      return moments.some((t) => holdsAt(property.condition, trace, t));
    case 'trapped-pocket':
      return moments.some(
        (t) =>
          movingTo(trace.doors[property.door]!, t) === 0 &&
          property.outlets.every((side) => side.length > 0 && side.some((d) => !notShut(trace.doors[d]!, t))),
      );
    case 'left-open':
      return awayAt(rig, trace, property.door, trace.end);
    case 'switched-off':
      return standAt(property.switches, trace, trace.end) && rig.doors.some((_, d) => awayAt(rig, trace, d, trace.end));
    case 'gap':
      return gapBroken(property.doors, property.least, trace, moments);
    case 'order':
      return orderBroken(property.events, trace);
  }
}

/** Every time at which an edge or a movement begins or ends: between two of them nothing changes but positions. */
function momentsOf(trace: Trace): number[] {
  const times = new Set([trace.start]);
  for (const edge of trace.edges) times.add(edge.t);
  for (const door of trace.doors) for (const move of door.moves) times.add(move.t).add(move.arrives);
  return [...times].filter((t) => t <= trace.end).sort((a, b) => a - b);
}

function lastMove(track: DoorTrack, t: number): DoorMove | null {
  let found: DoorMove | null = null;
  for (const move of track.moves) if (move.t <= t) found = move;
  return found;
}

/** Position just after t (0 shut … 1 fully open). */
function positionAt(track: DoorTrack, t: number): number {
  const move = lastMove(track, t);
  if (!move) return track.initial;
  if (t >= move.arrives) return move.to;
  return move.from + ((move.to - move.from) * (t - move.t)) / (move.arrives - move.t);
}

function movingTo(track: DoorTrack, t: number): 0 | 1 | null {
  const move = lastMove(track, t);
  return move && t < move.arrives ? move.to : null;
}

/** Whether a door is on the move, or stands elsewhere than while the rig does nothing. */
export function awayAt(rig: Rig, trace: Trace, door: number, t: number): boolean {
  const rest = idlesOpen(rig, door) ? 1 : 0;
  return movingTo(trace.doors[door]!, t) !== null || positionAt(trace.doors[door]!, t) !== rest;
}

/** A door counts as not shut from the moment it begins to open. */
function notShut(track: DoorTrack, t: number): boolean {
  return movingTo(track, t) !== null || positionAt(track, t) > 0;
}

/** Whether nets have these values just after t. */
export function standAt(values: ReadonlyMap<number, boolean>, trace: Trace, t: number): boolean {
  return [...values].every(([net, value]) => holdsAt({ op: 'net', net }, trace, t) === value);
}

function holdsAt(condition: Condition, trace: Trace, t: number): boolean {
  return holds(condition, {
    net: (net) => {
      let value = trace.initial[net]!;
      for (const edge of trace.edges) if (edge.net === net && edge.t <= t) value = edge.value;
      return value;
    },
    notShut: (door) => notShut(trace.doors[door]!, t),
  });
}

/** Times when a door gets shut, or leaves shut. */
function shuts(track: DoorTrack): number[] {
  return track.moves
    .filter((m, k) => m.to === 0 && (track.moves[k + 1]?.t ?? Infinity) >= m.arrives)
    .map((m) => m.arrives);
}
function leaves(track: DoorTrack): number[] {
  return track.moves.filter((m) => m.to === 1 && m.from === 0).map((m) => m.t);
}

function gapBroken(
  [a, b]: readonly [number, number],
  least: number,
  trace: Trace,
  moments: readonly number[],
): boolean {
  if (moments.some((t) => notShut(trace.doors[a]!, t) && notShut(trace.doors[b]!, t))) return true;
  const tooSoon = (one: number, other: number): boolean =>
    shuts(trace.doors[one]!).some((shut) =>
      leaves(trace.doors[other]!).some((t) => t >= shut && t - shut < least && t <= trace.end),
    );
  return tooSoon(a, b) || tooSoon(b, a);
}

function orderBroken(events: Extract<Property, { kind: 'order' }>['events'], trace: Trace): boolean {
  const happened = trace.doors
    .flatMap((track, door) => doorEvents(track).map(([t, event]) => ({ t, door, event })))
    .filter((h) => h.t <= trace.end && events.some((e) => e.door === h.door && e.event === h.event))
    .sort((x, y) => x.t - y.t);
  let place = 0;
  let before = -1;
  for (let k = 0; k < happened.length; k++) {
    const expected = events[place]!;
    // Of those at one moment the expected one is looked at first.
    const turn = happened.findIndex((h, j) => j >= k && h.t === happened[k]!.t && sameEvent(h, expected));
    if (turn < 0 || (place > 0 && happened[turn]!.t === before)) return true;
    [happened[k], happened[turn]] = [happened[turn]!, happened[k]!];
    before = happened[k]!.t;
    place = (place + 1) % events.length;
  }
  return false;
}

interface NamedEvent {
  readonly door: number;
  readonly event: string;
}

const sameEvent = (a: NamedEvent, b: NamedEvent): boolean => a.door === b.door && a.event === b.event;

function doorEvents(track: DoorTrack): [number, string][] {
  return [
    ...leaves(track).map((t): [number, string] => [t, 'opens']),
    ...shuts(track).map((t): [number, string] => [t, 'shuts']),
    ...track.moves.filter((m) => m.to === 0 && m.from === 1).map((m): [number, string] => [m.t, 'closes']),
    ...track.moves
      .filter((m, k) => m.to === 1 && (track.moves[k + 1]?.t ?? Infinity) >= m.arrives)
      .map((m): [number, string] => [m.arrives, 'opened']),
  ];
}
