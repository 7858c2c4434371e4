/**
 * What is watched for in a scanned rig, between scans and at them: the same properties as in monitor.ts.
 *
 * Marks take the place of clocks: for a gap the least time that a door can have been shut (lower bounds only, since a gap breaks by being
 * too short), capped at the least gap asked for, beyond which nothing changes; for an order its place. Between two scans nets stand still and
 * doors only arrive, so states there are judged after each arrival; at a scan after all outputs are out.
 */
import { idlesOpen } from '../../model/intent';
import { netsOf } from '../../model/logic';
import type { Condition } from '../../model/rig';
import {
  brokenNow,
  followEvents,
  isBlocked,
  isVented,
  type Look,
  markVents,
  type Property,
  type Vented,
} from '../monitor';
import type { Scope } from '../cone';
import { arriveAt, type ScanDoorEvent } from './doors';
import { isTimer, type ScanDoor, type ScanDraft, type ScanModel } from './state';

type Gap = Extract<Property, { kind: 'gap' }>;
type Order = Extract<Property, { kind: 'order' }>;

const gapsOf = ({ properties }: ScanModel): Gap[] => properties.filter((p): p is Gap => p.kind === 'gap');
const ordersOf = ({ properties }: ScanModel): Order[] => properties.filter((p): p is Order => p.kind === 'order');

const ventedOf = ({ properties }: ScanModel): (Property & Vented)[] => properties.filter(isVented);
const firstVentMark = (model: ScanModel): number => gapsOf(model).length * 2 + ordersOf(model).length;

/** Marks before anything happened. */
export function firstMarks(model: ScanModel): number[] {
  return [
    ...gapsOf(model).flatMap(({ least }) => [least, least]),
    ...ordersOf(model).map(() => 0),
    ...ventedOf(model).map(() => 0),
  ];
}

/** Lets doors arrive in an order given, moment by moment, and notes what is broken between the scans. Changes the draft. */
export function watchArrivals(model: ScanModel, draft: ScanDraft, order: readonly (readonly ScanDoorEvent[])[]): void {
  const shut = order.flat().filter((e) => e.event === 'shuts');
  gapsOf(model).forEach(({ doors, least }, g) => {
    doors.forEach((door, side) => {
      const k = g * 2 + side;
      const now = shut.find((e) => e.door === door);
      draft.marks[k] = Math.min(least, now ? now.ago.lo : draft.marks[k]! + model.scan.lo);
    });
  });
  for (const moment of order) {
    for (const { door } of moment) arriveAt(draft, door);
    followOrders(model, draft, moment);
    // What ends at the very moment of the scan has not lasted.
    if (moment.some((e) => e.ago.hi > 0)) noteBroken(model, draft, lookAt(model, draft));
  }
}

/** Notes what the movements at a scan, and the state it leaves, break. `before`: the nets after the scan before. Changes the draft. */
export function watchScan(
  model: ScanModel,
  draft: ScanDraft,
  events: readonly ScanDoorEvent[],
  before: Uint8Array | null,
): void {
  const notShut = (d: number): boolean => draft.doors[d]!.moving || draft.doors[d]!.open;
  gapsOf(model).forEach(({ doors, least, name }, g) => {
    doors.forEach((door, side) => {
      const k = g * 2 + side;
      const shut = events.find((e) => e.door === door && e.event === 'shuts');
      if (shut) draft.marks[k] = 0;
      const other = doors[side === 0 ? 1 : 0]!;
      const leaves = events.some((e) => e.door === other && e.event === 'opens');
      if (leaves && !notShut(door) && draft.marks[k]! < least) draft.flags.add(name);
    });
  });
  followOrders(model, draft, events);
  noteBroken(model, draft, {
    ...lookAt(model, draft),
    still: (property) => isStill(model, before, draft, model.scopes.get(property)!),
  });
  notePockets(model, draft, events);
}

/** A door with no travel shuts at once: what is trapped is seen at that instant only. */
function notePockets(model: ScanModel, draft: ScanDraft, events: readonly ScanDoorEvent[]): void {
  const look = lookAt(model, draft);
  for (const property of model.properties) {
    if (property.kind !== 'trapped-pocket' || model.network.doors[property.door]!.closes.hi > 0) continue;
    if (!events.some((e) => e.door === property.door && e.event === 'shuts')) continue;
    if (property.outlets.every((side) => isBlocked(side, look))) draft.flags.add(property.name);
  }
}

/** Events at one moment. Two of an order at one moment are not in order. */
function followOrders(model: ScanModel, draft: ScanDraft, moment: readonly ScanDoorEvent[]): void {
  const first = gapsOf(model).length * 2;
  ordersOf(model).forEach((order, o) => {
    const happened = moment.filter((h) => order.events.some((e) => e.door === h.door && e.event === h.event));
    if (happened.length === 0) return;
    const before = draft.marks[first + o]!;
    const { place, sound } = followEvents(order, before, happened);
    // "At one moment" whenever the ranges of the two allow it: cautious, as the order must hold for every value.
    const together = before > 0 && draft.recent[o]! <= Math.max(...happened.map((e) => e.ago.hi));
    if (!sound || together) draft.flags.add(order.name);
    draft.marks[first + o] = place;
    // The nearest it may have been: a next event within that time could be at the same moment.
    draft.recent[o] = Math.min(...happened.map((e) => e.ago.lo));
  });
}

/** The doors and nets of a draft as the properties see them, at a moment when something may be under way. */
export function lookAt(
  model: ScanModel,
  draft: { readonly doors: readonly ScanDoor[]; readonly nets: Uint8Array },
): Look {
  const { rig } = model;
  return {
    net: (net) => draft.nets[net] === 1,
    notShut: (d) => draft.doors[d]!.moving || draft.doors[d]!.open,
    closing: (d) => draft.doors[d]!.moving && !draft.doors[d]!.open,
    away: (d) => draft.doors[d]!.moving || draft.doors[d]!.open !== idlesOpen(rig, d),
    still: () => false,
  };
}

function noteBroken(model: ScanModel, draft: ScanDraft, look: Look): void {
  const vented = ventedOf(model);
  const first = firstVentMark(model);
  if (vented.length > 0) markVents(vented, draft.marks, first, look);
  const venting = new Set<Property>(vented.filter((_, v) => draft.marks[first + v] === 1));
  for (const property of model.properties) {
    if (property.kind === 'never') {
      if (inputsThatBreak(model, property.condition, look)) draft.flags.add(property.name);
    } else if (!venting.has(property) && brokenNow(property, look, model.rig)) draft.flags.add(property.name);
  }
}

/** Values of the inputs, which may turn between two scans unseen, with which a condition is true; null where there are none. */
export function inputsThatBreak(model: ScanModel, condition: Condition, look: Look): Map<number, boolean> | null {
  const nets = netsOf(condition);
  const inputs = model.network.inputs.filter((input) => nets.includes(input.net)).map((input) => input.net);
  // Inputs are not held between scans: a condition over inputs may come true and go again without any scan seeing it.
  for (let choice = 0; choice < 2 ** inputs.length; choice++) {
    // The values as they are come first.
    const values = new Map(inputs.map((net, k) => [net, look.net(net) !== ((choice >> k) & 1) > 0] as const));
    const seen: Look = { ...look, net: (net) => values.get(net) ?? look.net(net) };
    if (brokenNow({ kind: 'never', name: '', condition }, seen, model.rig)) return values;
  }
  return null;
}

/**
 * In a scope no timer runs, no door moves, and the scan changed nothing. Inputs do not count: what they bring about, the scan that read them
 * has done. A state stands for all values of the inputs that may turn at any scan, so that to wait for a second scan with the same ones would
 * pass over those that it was not entered with.
 */
export function isStill(
  { network }: ScanModel,
  before: Uint8Array | null,
  draft: ScanDraft,
  { elements, doors }: Scope,
): boolean {
  // At power-on there is no scan before: nothing is known to have settled.
  if (before === null) return false;
  const isSame = (net: number): boolean => before[net] === draft.nets[net];
  return (
    elements.every(
      (e) => isSame(network.elements[e]!.net) && !(isTimer(network.elements[e]!) && draft.counts[e]! >= 0),
    ) && doors.every((d) => !draft.doors[d]!.moving)
  );
}
