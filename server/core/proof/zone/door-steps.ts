/**
 * Doors in a proof step: where they are going, how long it may take, and how far open they may be when they turn round.
 *
 * A position is a real number that depends on a clock, which a discrete state cannot hold. It is kept as bounds, taken from the zone at the
 * moment of turning and widened outward to steps: the door is somewhere between them, so every way it can really go is among those followed.
 * The arrival is then due between the shortest and the longest way at the fastest and the slowest travel.
 */
import type { DoorState, Instant } from './discrete';
import type { Range } from '../network';

/** Positions rounded outward to this number of steps, so that turning round again and again gives finitely many states. */
const outward = (r: Range, steps: number): Range => ({
  lo: Math.max(0, Math.floor(r.lo * steps) / steps),
  hi: Math.min(1, Math.ceil(r.hi * steps) / steps),
});

const SHUT: DoorState = { phase: 'shut', due: { lo: 0, hi: 0 }, from: { lo: 0, hi: 0 } };
const OPEN: DoorState = { phase: 'open', due: { lo: 0, hi: 0 }, from: { lo: 1, hi: 1 } };

/** A door that has been without drive for long. */
export function doorAtRest(restOpen: boolean): DoorState {
  return restOpen ? OPEN : SHUT;
}

/** The drive of a door goes on (opens it) or off (closes it). */
export function command(at: Instant, door: number, on: boolean): void {
  const before = at.state.doors[door]!;
  const { opens, closes } = at.network.doors[door]!;
  const there = on ? 'open' : 'shut';
  const moving = on ? 'opening' : 'closing';
  if (before.phase === there || before.phase === moving) return;
  const from = positionOf(at, door);
  const travel = on ? opens : closes;
  const way = on ? { lo: 1 - from.hi, hi: 1 - from.lo } : from;
  const due = { lo: Math.floor(way.lo * travel.lo), hi: Math.ceil(way.hi * travel.hi) };
  if (on && before.phase === 'shut') at.events.push({ door, event: 'opens' });
  if (!on && before.phase === 'open') at.events.push({ door, event: 'closes' });
  if (due.hi === 0) arrive(at, door, on);
  else {
    at.state.doors[door] = { phase: moving, due, from };
    at.clocks.set(at.slots.door(door), -1);
  }
}

/** A moving door gets to its end. */
export function arrive(at: Instant, door: number, open: boolean): void {
  at.clocks.delete(at.slots.door(door));
  at.state.doors[door] = open ? OPEN : SHUT;
  at.events.push({ door, event: open ? 'opened' : 'shuts' });
}

/** How far open a door is now: bounds in parts of 1. */
function positionOf(at: Instant, door: number): Range {
  const state = at.state.doors[door]!;
  if (state.phase === 'shut') return { lo: 0, hi: 0 };
  if (state.phase === 'open') return { lo: 1, hi: 1 };
  const { opens, closes } = at.network.doors[door]!;
  const travel = state.phase === 'opening' ? opens : closes;
  const elapsed = at.clockRange(at.slots.door(door));
  const moved = { lo: travel.hi === 0 ? 1 : elapsed.lo / travel.hi, hi: travel.lo === 0 ? 1 : elapsed.hi / travel.lo };
  return state.phase === 'opening'
    ? outward({ lo: state.from.lo + moved.lo, hi: state.from.hi + moved.hi }, at.network.positions)
    : outward({ lo: state.from.lo - moved.hi, hi: state.from.hi - moved.lo }, at.network.positions);
}
