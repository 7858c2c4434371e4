/** From places in the text to items of resolved rigs and their facts. */
import type { RigDocument } from '../document/document';
import type { Source } from '../model/problem';
import type { Resolution } from '../model/resolution';
import type { Item, Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { pulsesOf } from '../timing/course';
import type { CauseLink, DoorWindow, Interval, StrokeFacts } from '../timing/facts';

/** Index into `Resolution.rigs` of the rig around `offset`, or -1. */
export function rigAt(document: RigDocument, offset: number): number {
  return document
    .resolved()
    .rigs.findIndex((r) => r.whole.uri === document.uri && offset >= r.whole.start && offset <= r.whole.end);
}

/** One item of one rig: an item of a part that is placed twice is two of them. */
export interface RigItem {
  readonly rig: number;
  readonly kind: RigItemKind;
  readonly index: number;
  readonly item: Item;
}

export type RigItemKind = 'chamber' | 'door' | 'line' | 'switch' | 'sensor' | 'signal' | 'sequence' | 'scenario';

const LISTS: readonly (readonly [RigItemKind, (rig: Rig) => readonly Item[]])[] = [
  ['door', (r) => r.doors],
  ['signal', (r) => r.signals],
  ['chamber', (r) => r.chambers],
  ['line', (r) => r.lines],
  ['switch', (r) => r.switches],
  ['sensor', (r) => r.sensors],
  ['sequence', (r) => r.sequences],
  ['scenario', (r) => r.scenarios],
];

const itemIndexes = new WeakMap<Resolution, ReadonlyMap<string, readonly RigItem[]>>();

/** Items of all rigs by the place of their declared name; computed once per resolution. */
function itemIndex(resolution: Resolution): ReadonlyMap<string, readonly RigItem[]> {
  const known = itemIndexes.get(resolution);
  if (known) return known;
  const index = new Map<string, RigItem[]>();
  resolution.rigs.forEach((rig, rigIndex) => {
    for (const [kind, list] of LISTS) {
      list(rig).forEach((item, itemNumber) => {
        const found = index.get(placeOf(item.at)) ?? [];
        found.push({ rig: rigIndex, kind, index: itemNumber, item });
        index.set(placeOf(item.at), found);
      });
    }
  });
  itemIndexes.set(resolution, index);
  return index;
}

function placeOf(at: Source): string {
  return `${at.uri}#${at.start}`;
}

/** Every item declared at a place of the text (several where it stands in a part placed several times). */
export function itemsDeclaredAt(document: RigDocument, at: Source): readonly RigItem[] {
  return itemIndex(document.resolved()).get(placeOf(at)) ?? [];
}

/** Whether statements of the rig's control could not be read: its facts are then those of another rig than the one meant. */
export function isIncomplete(rig: Rig): boolean {
  return rig.incomplete !== undefined && rig.incomplete.length > 0;
}

/** The stroke that times are counted from: the first trigger's. Null where no sensor moves a door or the rig is incomplete. */
export function mainStroke(facts: RigFacts): StrokeFacts | null {
  return isIncomplete(facts.rig) ? null : (facts.timing.strokes[0] ?? null);
}

/** The windows of a door in a stroke. */
export function windowsOf(stroke: StrokeFacts, door: number): readonly DoorWindow[] {
  return stroke.doors.find((d) => d.door === door)?.windows ?? [];
}

/** The windows of the first stroke only: those that begin before the pattern repeats. */
export function firstStrokeWindows(stroke: StrokeFacts, door: number): readonly DoorWindow[] {
  const all = windowsOf(stroke, door);
  const { repeat } = stroke;
  if (repeat === null || all.length === 0) return all;
  const start = all[0]!.notShut.from;
  return all.filter((w) => w.notShut.from < start + repeat);
}

/** When a net is on in the trace of a stroke, first stroke only, as `[from, to)` pairs; `to` null where the trace ends first. */
export function onTimes(stroke: StrokeFacts, net: number): Interval[] {
  const { trace, repeat } = stroke;
  const times = pulsesOf(trace, net);
  return repeat === null ? times : times.filter((t) => t.from < (times[0]?.from ?? 0) + repeat);
}

/** What one link of a chain of causes contributed, in microseconds. */
export function contribution(link: CauseLink): number {
  return link.response + link.preset + link.travel;
}
