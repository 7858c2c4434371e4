/**
 * A rig in scan style as a transition system: one step is one scan. Inputs may have any value at every scan (or change no sooner
 * than their least on and off times), a timer or a moving door is done once its scans must or may have lasted long enough.
 * There are no clocks: elapsed scans are counted, so the states are explicit.
 */
import type { Logic, Rig } from '../../model/rig';
import { emptyClocks } from './dbm';
import type { Step, SymbolicState, Successor, ZoneSystem } from './explore';
import type { ProofElement, ProofNetwork, Range } from './network';
import { brokenNow, type Look, type Property } from './monitor';
import type { Witness } from './witness';

export interface ScanLabel {
  /** Value of every input at this scan. */
  readonly inputs: readonly boolean[];
}

export interface ScanState extends SymbolicState {
  readonly nets: Uint8Array;
  readonly outputs: Uint8Array;
  readonly seen: Uint8Array;
  /** CTU: count. TON, TOF, TP: scans since the timer started, −1 while it does not run. */
  readonly counts: Int32Array;
  readonly doors: readonly ScanDoor[];
  /** Scans since each input last changed, no further than its least times reach. */
  readonly held: readonly number[];
  readonly marks: readonly number[];
  readonly flags: readonly string[];
}

/** A door: where it is going, and how long it has been on the way (scans); `moving` false once it is there. */
export interface ScanDoor {
  readonly open: boolean;
  readonly moving: boolean;
  readonly scans: number;
  readonly due: Range;
  /** Position when it set out, parts of 1. */
  readonly from: number;
}

type Order = Extract<Property, { kind: 'order' }>;
type Gap = Extract<Property, { kind: 'gap' }>;

export interface ScanModel {
  readonly rig: Rig;
  readonly network: ProofNetwork;
  readonly properties: readonly Property[];
  readonly scan: Range;
}

export function scanSystem(model: ScanModel): ZoneSystem<ScanState, ScanLabel> {
  return {
    initial: () =>
      scans(
        model,
        null,
        model.network.inputs.map((i) => i.initial),
      ),
    successors: (state) => {
      const found: Successor<ScanState, ScanLabel>[] = [];
      for (const inputs of inputChoices(model, state))
        for (const next of scans(model, state, inputs)) found.push({ label: { inputs }, state: next });
      return found;
    },
    broken: (state) => state.flags,
  };
}

/** Every combination of input values that the least on and off times allow at the next scan. */
function inputChoices(model: ScanModel, state: ScanState): boolean[][] {
  let choices: boolean[][] = [[]];
  model.network.inputs.forEach((input, k) => {
    const now = state.nets[input.net] === 1;
    const least = now ? input.minOn : input.minOff;
    const mayChange = (state.held[k]! + 1) * model.scan.hi >= least;
    choices = choices.flatMap((c) =>
      mayChange
        ? [
            [...c, now],
            [...c, !now],
          ]
        : [[...c, now]],
    );
  });
  return choices;
}

/** All states that one scan may lead to: timers and doors within tolerance may be done or not. */
function scans(model: ScanModel, before: ScanState | null, inputs: readonly boolean[]): ScanState[] {
  let drafts = [startDraft(model, before, inputs)];
  model.network.elements.forEach((element, e) => {
    drafts = drafts.flatMap((draft) =>
      isTimer(element) ? timerStep(model, draft, element, e) : [plainStep(draft, element, e)],
    );
  });
  model.network.doors.forEach((_, d) => {
    drafts = drafts.flatMap((draft) => doorStep(model, draft, d));
  });
  return drafts.map((draft) => finish(model, before, draft));
}

interface Draft {
  readonly nets: Uint8Array;
  readonly outputs: Uint8Array;
  readonly seen: Uint8Array;
  readonly counts: Int32Array;
  readonly doors: ScanDoor[];
  readonly held: number[];
  /** Door events of this scan with how long ago (µs) they happened. */
  readonly events: {
    readonly door: number;
    readonly event: 'opens' | 'opened' | 'closes' | 'shuts';
    readonly ago: number;
  }[];
}

const copyDraft = (d: Draft): Draft => ({
  nets: d.nets.slice(),
  outputs: d.outputs.slice(),
  seen: d.seen.slice(),
  counts: d.counts.slice(),
  doors: [...d.doors],
  held: [...d.held],
  events: [...d.events],
});

function startDraft({ network, rig }: ScanModel, before: ScanState | null, inputs: readonly boolean[]): Draft {
  const e = network.elements.length;
  const draft: Draft = before
    ? copyDraft({ ...before, doors: [...before.doors], held: [...before.held], events: [] })
    : {
        nets: new Uint8Array(network.nets),
        outputs: new Uint8Array(e),
        // An F_TRIG whose input is off at its first scan gives a pulse: its memory starts FALSE (IEC 61131-3, Table 44).
        seen: Uint8Array.from(network.elements, (element) => (element.kind === 'F_TRIG' ? 1 : 0)),
        counts: Int32Array.from(network.elements, (element) => (isTimer(element) ? -1 : 0)),
        doors: rig.doors.map((d) => ({
          open: d.rest === 'open',
          moving: false,
          scans: 0,
          due: { lo: 0, hi: 0 },
          from: 0,
        })),
        held: network.inputs.map(() => 0),
        events: [],
      };
  network.inputs.forEach((input, k) => {
    const value = inputs[k] ? 1 : 0;
    const cap = Math.max(input.minOn, input.minOff);
    draft.held[k] = before && draft.nets[input.net] === value && cap > 0 ? Math.min(draft.held[k]! + 1, cap) : 0;
    draft.nets[input.net] = value;
  });
  return draft;
}

const isTimer = ({ kind }: ProofElement): boolean => kind === 'TON' || kind === 'TOF' || kind === 'TP';

function read(logic: Logic, nets: Uint8Array): boolean {
  switch (logic.op) {
    case 'net':
      return nets[logic.net] === 1;
    case 'const':
      return logic.value;
    case 'not':
      return !read(logic.a, nets);
    case 'and':
      return read(logic.a, nets) && read(logic.b, nets);
    case 'or':
      return read(logic.a, nets) || read(logic.b, nets);
    case 'xor':
      return read(logic.a, nets) !== read(logic.b, nets);
  }
}

function give(draft: Draft, element: ProofElement, e: number, value: boolean): Draft {
  draft.outputs[e] = value ? 1 : 0;
  draft.nets[element.net] = value ? 1 : 0;
  return draft;
}

function plainStep(draft: Draft, element: ProofElement, e: number): Draft {
  const x = read(element.inputs[0]!, draft.nets);
  const was = draft.seen[e] === 1;
  const q = draft.outputs[e] === 1;
  const second = (): boolean => read(element.inputs[1]!, draft.nets);
  draft.seen[e] = x ? 1 : 0;
  switch (element.kind) {
    case 'SR':
      return give(draft, element, e, x || (!second() && q));
    case 'RS':
      return give(draft, element, e, !second() && (x || q));
    case 'R_TRIG':
      return give(draft, element, e, x && !was);
    case 'F_TRIG':
      return give(draft, element, e, !x && was);
    case 'CTU':
      if (second()) draft.counts[e] = 0;
      else if (x && !was) draft.counts[e] = Math.min(draft.counts[e]! + 1, element.count);
      return give(draft, element, e, draft.counts[e]! >= element.count);
    default:
      return give(draft, element, e, x);
  }
}

/** One scan of a timer: several outcomes where its preset or the scan time has a tolerance. */
function timerStep(model: ScanModel, draft: Draft, element: ProofElement, e: number): Draft[] {
  const x = read(element.inputs[0]!, draft.nets);
  const was = draft.seen[e] === 1;
  draft.seen[e] = x ? 1 : 0;
  const times = element.kind === 'TON' ? x : !x;
  if (element.kind !== 'TP' && !times) {
    draft.counts[e] = -1;
    return [give(draft, element, e, element.kind === 'TOF')];
  }
  const starts = element.kind === 'TP' ? x && !was && draft.counts[e] === -1 : was !== x;
  if (starts && !(element.kind === 'TP' && element.preset.hi === 0)) draft.counts[e] = 0;
  else if (draft.counts[e]! >= 0) draft.counts[e] = draft.counts[e]! + 1;
  const done = element.kind === 'TON';
  if (draft.counts[e] === -1) return [give(draft, element, e, element.kind === 'TP' ? false : draft.outputs[e] === 1)];
  return outcomes(draft, elapsed(model, draft.counts[e]!), element.preset, (next, over) => {
    if (over) next.counts[e] = -1;
    give(next, element, e, over ? done : !done);
  });
}

const elapsed = ({ scan }: ScanModel, count: number): Range => ({ lo: count * scan.lo, hi: count * scan.hi });

/** Applies `set` to the draft for each answer to "has it lasted `due`?" that the ranges allow. */
function outcomes(draft: Draft, time: Range, due: Range, set: (next: Draft, over: boolean) => void): Draft[] {
  const may = time.hi >= due.lo;
  const must = time.lo >= due.hi;
  const drafts = may && !must ? [copyDraft(draft), draft] : [draft];
  drafts.forEach((next, k) => set(next, may && (must || k === 0)));
  return drafts;
}

/** Arrivals since the scan before, then the new drive. */
function doorStep(model: ScanModel, draft: Draft, d: number): Draft[] {
  const door = draft.doors[d]!;
  let drafts = [draft];
  if (door.moving) {
    const time = elapsed(model, door.scans + 1);
    drafts = outcomes(draft, time, door.due, (next, over) => {
      next.doors[d] = over ? { ...door, moving: false, scans: 0, from: 0 } : { ...door, scans: door.scans + 1 };
      if (over)
        next.events.push({ door: d, event: door.open ? 'opened' : 'shuts', ago: Math.max(0, time.lo - door.due.hi) });
    });
  }
  const { net } = model.network.doors[d]!;
  if (net >= 0) for (const next of drafts) drive(model, next, d, next.nets[net] === 1);
  return drafts;
}

function drive(model: ScanModel, draft: Draft, d: number, open: boolean): void {
  const door = draft.doors[d]!;
  if (door.open === open) return;
  const { opens, closes } = model.network.doors[d]!;
  const from = positionOf(model, door, opens, closes);
  const travel = open ? opens : closes;
  const way = open ? 1 - from : from;
  const due = { lo: Math.floor(way * travel.lo), hi: Math.ceil(way * travel.hi) };
  if (open && from === 0) draft.events.push({ door: d, event: 'opens', ago: 0 });
  if (!open && from === 1) draft.events.push({ door: d, event: 'closes', ago: 0 });
  draft.doors[d] = { open, moving: due.hi > 0, scans: 0, due, from };
  if (due.hi === 0) draft.events.push({ door: d, event: open ? 'opened' : 'shuts', ago: 0 });
}

/** How far open a door is, parts of 1; on the way with tolerance: the nominal reading. */
function positionOf(model: ScanModel, door: ScanDoor, opens: Range, closes: Range): number {
  if (!door.moving) return door.open ? 1 : 0;
  const travel = door.open ? opens : closes;
  const moved = (door.scans * (model.scan.lo + model.scan.hi)) / (travel.lo + travel.hi);
  return Math.min(1, Math.max(0, door.open ? door.from + moved : door.from - moved));
}

// ---------------------------------------------------------------- what a scan shows

function finish(model: ScanModel, before: ScanState | null, draft: Draft): ScanState {
  const notShut = (d: number): boolean => draft.doors[d]!.moving || draft.doors[d]!.open;
  const closing = (d: number): boolean => draft.doors[d]!.moving && !draft.doors[d]!.open;
  const timing = draft.counts.some((c, e) => isTimer(model.network.elements[e]!) && c >= 0);
  const same = before !== null && before.nets.every((v, k) => v === draft.nets[k]);
  const still = same && !timing && draft.doors.every((d) => !d.moving);
  const { marks, flags } = observe(model, before, draft, notShut);
  const look: Look = { net: (net) => draft.nets[net] === 1, notShut, closing, still };
  const all = [...flags, ...model.properties.filter((p) => brokenNow(p, look, model.rig)).map((p) => p.name)];
  const doors = draft.doors.map(
    (d) => `${d.open ? 'o' : 's'}${d.moving ? `${d.scans}/${d.due.lo}/${d.due.hi}/${d.from}` : ''}`,
  );
  // Inputs that may change at any scan say nothing about what follows.
  const lasting = draft.nets.slice();
  for (const input of model.network.inputs) if (input.minOn === 0 && input.minOff === 0) lasting[input.net] = 0;
  const key = [lasting, draft.outputs, draft.seen, draft.counts, draft.held, marks]
    .map((a) => a.join(','))
    .concat(doors, all)
    .join('|');
  const { nets, outputs, seen, counts, held } = draft;
  return { key, zone: emptyClocks(), nets, outputs, seen, counts, doors: draft.doors, held, marks, flags: all };
}

/** Marks: for each gap two times since shut (µs, no further than the gap asks; −1: not shut since), then the place in each order. */
function observe(
  model: ScanModel,
  before: ScanState | null,
  draft: Draft,
  notShut: (door: number) => boolean,
): { marks: number[]; flags: string[] } {
  const gaps = model.properties.filter((p): p is Gap => p.kind === 'gap');
  const orders = model.properties.filter((p): p is Order => p.kind === 'order');
  const marks = before ? [...before.marks] : [...gaps.flatMap((g) => [g.least, g.least]), ...orders.map(() => 0)];
  const flags: string[] = [];
  gaps.forEach((gap, g) => {
    gap.doors.forEach((door, side) => {
      const k = g * 2 + side;
      const shut = draft.events.find((e) => e.door === door && e.event === 'shuts');
      if (before && marks[k]! >= 0) marks[k] = Math.min(gap.least, marks[k]! + model.scan.lo);
      if (shut) marks[k] = Math.min(gap.least, shut.ago);
      const other = gap.doors[side === 0 ? 1 : 0];
      const leaves = draft.events.some((e) => e.door === other && e.event === 'opens');
      if (leaves && !notShut(door) && marks[k]! < gap.least) flags.push(gap.name);
    });
    if (gap.doors.every(notShut)) flags.push(gap.name);
  });
  orders.forEach((order, o) => {
    const k = gaps.length * 2 + o;
    for (const event of [...draft.events].sort((a, b) => b.ago - a.ago)) {
      if (!order.events.some((e) => e.door === event.door && e.event === event.event)) continue;
      const expected = order.events[marks[k]!]!;
      if (expected.door === event.door && expected.event === event.event)
        marks[k] = (marks[k]! + 1) % order.events.length;
      else flags.push(order.name);
    }
  });
  return { marks, flags };
}

export type ScanPath = readonly Step<ScanState, ScanLabel>[];

/** Moments of a path: scan k is at k scan times after power-on; every time nominal. */
export function scanWitness(path: ScanPath, network: ProofNetwork, scan: number): Witness {
  const operations = path.flatMap((step, k) =>
    network.inputs.flatMap((input, i) => {
      const value = step.state.nets[input.net] === 1;
      const before = k > 0 && path[k - 1]!.state.nets[input.net] === 1;
      return k > 0 && value !== before ? [{ t: k * scan, input: i, value }] : [];
    }),
  );
  return { operations, end: (path.length - 1) * scan, times: path.map((_, k) => k * scan), durations: [] };
}
