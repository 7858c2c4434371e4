/**
 * Doors of a scanned rig: those that arrive between two scans, and what the outputs of a scan do to them.
 *
 * A door starts at a scan, since only a scan changes its drive, and arrives anywhere between two. Which of several arrives first decides
 * gaps and orders, so every possible order is followed (`ordersOf`); where all times are exact there is one. Positions are bounds in parts of
 * 1, outward: a door that may be further than it can be allows more, never less.
 */
import type { Range } from '../network';
import { outcomes } from './blocks';
import { elapsed, type ScanDoor, type ScanDraft, type ScanModel } from './state';

export interface ScanDoorEvent {
  readonly door: number;
  readonly event: 'opens' | 'opened' | 'closes' | 'shuts';
  /** How long before the scan it happened. */
  readonly ago: Range;
}

/** A draft with the doors that arrived since the scan before still where they were, and their arrivals. */
export interface Arriving {
  readonly draft: ScanDraft;
  readonly arrivals: readonly ScanDoorEvent[];
}

/** Every answer to which of the moving doors arrive before this scan, or at its very moment. */
export function arrivingDoors(model: ScanModel, first: ScanDraft): Arriving[] {
  // Each moving door doubles the possibilities at most: arrived by now, or not yet.
  let found: Arriving[] = [{ draft: first, arrivals: [] }];
  first.doors.forEach((door, d) => {
    if (!door.moving) return;
    const time = elapsed(model, door.scans + 1);
    found = found.flatMap(({ draft, arrivals }) => {
      const next: Arriving[] = [];
      for (const outcome of outcomes(draft, time, door.due, (into, over) => {
        if (!over) into.doors[d] = { ...door, scans: door.scans + 1 };
      })) {
        const over = outcome.doors[d] === door;
        next.push({ draft: outcome, arrivals: over ? [...arrivals, arrivalOf(model, door, d, time)] : arrivals });
      }
      return next;
    });
  });
  return found;
}

function arrivalOf({ scan }: ScanModel, door: ScanDoor, d: number, time: Range): ScanDoorEvent {
  // Counted back from this scan: what remains of the elapsed time once the door has arrived, at most one scan, or it had arrived before.
  const ago = { lo: Math.max(0, time.lo - door.due.hi), hi: Math.min(scan.hi, time.hi - door.due.lo) };
  return { door: d, event: door.open ? 'opened' : 'shuts', ago };
}

/** Every order in which the arrivals may have come; those at exactly one moment stand together. */
export function ordersOf(arrivals: readonly ScanDoorEvent[]): ScanDoorEvent[][][] {
  if (arrivals.length === 0) return [[]];
  // May be first: no other arrival is certainly earlier. Then the same among the rest.
  const first = arrivals.filter((a) => !arrivals.some((b) => b.ago.lo > a.ago.hi));
  const seen = new Set<ScanDoorEvent>();
  return first.flatMap((a) => {
    if (seen.has(a)) return [];
    const together = arrivals.filter((b) => b === a || (isExact(a.ago) && isExact(b.ago) && a.ago.lo === b.ago.lo));
    together.forEach((b) => seen.add(b));
    const rest = arrivals.filter((b) => !together.includes(b));
    return ordersOf(rest).map((order) => [together, ...order]);
  });
}

const isExact = (range: Range): boolean => range.lo === range.hi;

/** Puts a door that arrived where it was going. */
export function arriveAt(draft: ScanDraft, d: number): void {
  const door = draft.doors[d]!;
  draft.doors[d] = { open: door.open, moving: false, scans: 0, due: { lo: 0, hi: 0 }, from: { lo: 0, hi: 0 } };
}

/** Sets doors going as the nets that drive them say now. */
export function driveDoors(model: ScanModel, draft: ScanDraft): ScanDoorEvent[] {
  return model.network.doors.flatMap(({ net }, d) => (net >= 0 ? drive(model, draft, d, draft.nets[net] === 1) : []));
}

function drive(model: ScanModel, draft: ScanDraft, d: number, open: boolean): ScanDoorEvent[] {
  const door = draft.doors[d]!;
  if (door.open === open) return [];
  const { opens, closes } = model.network.doors[d]!;
  const from = positionOf(model, door, opens, closes);
  const travel = open ? opens : closes;
  const way = open ? { lo: 1 - from.hi, hi: 1 - from.lo } : from;
  const due = { lo: Math.floor(way.lo * travel.lo), hi: Math.ceil(way.hi * travel.hi) };
  const ago = { lo: 0, hi: 0 };
  const events: ScanDoorEvent[] = [];
  if (open && from.hi === 0) events.push({ door: d, event: 'opens', ago });
  if (!open && from.lo === 1) events.push({ door: d, event: 'closes', ago });
  draft.doors[d] = { open, moving: due.hi > 0, scans: 0, due, from };
  if (due.hi > 0) return events;
  arriveAt(draft, d);
  return [...events, { door: d, event: open ? 'opened' : 'shuts', ago }];
}

/** Loose positions are kept outward in steps of 1/64, so that turning round again and again gives finitely many states. */
const STEPS = 64;

/** How far open a door is: bounds in parts of 1, exact where all times are. */
function positionOf(model: ScanModel, door: ScanDoor, opens: Range, closes: Range): Range {
  if (!door.moving) return door.open ? { lo: 1, hi: 1 } : { lo: 0, hi: 0 };
  const travel = door.open ? opens : closes;
  const time = elapsed(model, door.scans);
  const moved = { lo: travel.hi === 0 ? 1 : time.lo / travel.hi, hi: travel.lo === 0 ? 1 : time.hi / travel.lo };
  const { from } = door;
  const now = door.open
    ? { lo: from.lo + moved.lo, hi: from.hi + moved.hi }
    : { lo: from.lo - moved.hi, hi: from.hi - moved.lo };
  const inside = { lo: Math.min(1, Math.max(0, now.lo)), hi: Math.min(1, Math.max(0, now.hi)) };
  if (isExact(inside)) return inside;
  return { lo: Math.floor(inside.lo * STEPS) / STEPS, hi: Math.ceil(inside.hi * STEPS) / STEPS };
}
