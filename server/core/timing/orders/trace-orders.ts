/**
 * What must stay as it is for a run to keep its order of events: inequalities over the variable times, each `form ≥ 0` in whole
 * microseconds. While all of them hold, every edge has the same cause, every timer runs out or is cut off as recorded, every door
 * arrives or is turned round as recorded, so each moment of the run stays the sum that `formsOfTrace` gives.
 *
 * Only orders that matter are kept: inputs of one element may change places as long as what the element computes does not change
 * in between, whichever comes first.
 *
 * Why these suffice: by induction along the record. If every element sees changes of what it computes in the recorded order, each timer
 * finds its input as recorded when its preset ends, and each door its next command on the same side of its arrival, then the next edge has
 * the same cause and comes at the same sum. The inequalities may be too many (a cell too small, which costs runs), never too few.
 */
import type { Logic, Rig } from '../../model/rig';
import { netsOf, predicateOf, type Predicate } from '../../model/logic';
import type { Work } from '../../work/work';
import type { Trace } from '../trace';
import { constantForm, less, minus, plus, sameForm, scaled, valueAt, type Form } from './form';
import type { TimeForms, TraceForms } from './trace-forms';

/** A moment of a run: its recorded time and its form. */
interface Moment {
  readonly t: number;
  readonly form: Form;
}

/** What is looked at besides the doors' own movements: the order of these is kept as well. */
export interface Watch {
  readonly doors: readonly number[];
  readonly nets: readonly number[];
}

/** The inequalities, or null where a moment that matters has no form; in steps. */
export function* ordersWork(
  rig: Rig,
  trace: Trace,
  forms: TraceForms,
  times: TimeForms,
  at: readonly number[],
  watch: Watch,
): Work<Form[] | null> {
  const look = new Orders(rig, trace, forms, times, at);
  const seen = coneOf(rig, watch.nets);
  for (const e of [...seen.elements].sort((a, b) => a - b)) yield void look.element(e);
  for (const door of rig.doors.keys()) yield void look.door(door);
  look.watched(watch);
  return look.lost ? null : look.found;
}

/** Elements that what is driven, or the given nets, depend on. */
function coneOf(rig: Rig, nets: readonly number[]): { readonly elements: ReadonlySet<number> } {
  const elements = new Set<number>();
  // What no door, feed or watched net depends on may happen in any order.
  const waiting = [...rig.drives.map((d) => d.net), ...nets];
  for (let net = waiting.pop(); net !== undefined; net = waiting.pop()) {
    const source = rig.network.nets[net];
    if (source?.kind !== 'element' || elements.has(source.index)) continue;
    elements.add(source.index);
    for (const input of rig.network.elements[source.index]!.inputs) waiting.push(...netsOf(input));
  }
  return { elements };
}

/** A change of what a function of nets computes. */
interface Pivot extends Moment {
  readonly edge: number;
  readonly value: boolean;
}

/** Interleavings of a stretch are all tried up to this many; beyond it, the order is kept. */
const MOST_STATES = 256;

/** Collects the inequalities of one trace; `found` and `lost` are its results. */
class Orders {
  readonly found: Form[] = [];
  /** A moment that matters has no form. */
  lost = false;
  private readonly byNet = new Map<number, number[]>();
  private readonly scanned: boolean;

  constructor(
    private readonly rig: Rig,
    private readonly trace: Trace,
    private readonly forms: TraceForms,
    private readonly times: TimeForms,
    private readonly at: readonly number[],
  ) {
    this.scanned = rig.controller.style === 'scan';
    trace.edges.forEach(({ net }, i) => {
      const list = this.byNet.get(net);
      if (list) list.push(i);
      else this.byNet.set(net, [i]);
    });
  }

  /** Keeps `a` before `b` as recorded: strictly, or at one moment where they coincide. */
  private keep(a: Moment, b: Moment): void {
    const apart = minus(b.form, a.form);
    // Strict, in whole microseconds: b − a ≥ 1. Coinciding moments of different sums are kept together, b − a = 0, as two inequalities: at
    // one moment rounds decide, and that is an order of its own.
    if (a.t < b.t) this.found.push(less(apart, 1));
    else if (a.t > b.t) this.found.push(less(scaled(apart, -1), 1));
    else if (!sameForm(a.form, b.form)) this.found.push(apart, scaled(apart, -1));
  }

  private moment(edge: number): Moment | null {
    const form = this.forms.edges[edge];
    if (!form) this.lost = true;
    return form ? { t: this.trace.edges[edge]!.t, form } : null;
  }

  private chain(edges: readonly number[]): void {
    for (let i = 1; i < edges.length; i++) this.pair(edges[i - 1]!, edges[i]!);
  }

  private pair(a: number, b: number): void {
    // In scan style all that matters within a scan is the written order.
    if (this.scanned || this.trace.edges[a]!.net === this.trace.edges[b]!.net) return;
    const [x, y] = [this.moment(a), this.moment(b)];
    if (x && y) this.keep(x, y);
  }

  element(e: number): void {
    const element = this.rig.network.elements[e]!;
    const lists = element.inputs.map((input) => this.pivots(input));
    if (lists.length > 1) {
      // Set and reset, count and reset: which input changes first decides what the block does.
      const merged = lists.flat().map((p) => p.edge);
      this.chain([...new Set(merged)].filter((i) => i >= 0).sort((a, b) => a - b));
    }
    const pivots = lists[0] ?? [];
    const { kind } = element;
    if (kind === 'TON' || kind === 'TOF') this.delay(e, pivots, kind === 'TON');
    if (kind === 'TP') this.pulse(e, pivots, this.times.preset(e));
    const rises = (kind === 'R_TRIG' || kind === 'F_TRIG') && !this.scanned;
    if (rises)
      this.edges(
        e,
        pivots.filter((p) => p.value === (kind === 'R_TRIG')),
      );
  }

  /** The changes of what a function computes, with the orders that keep them the only ones. */
  private pivots(logic: Logic): Pivot[] {
    const nets = [...new Set(netsOf(logic))];
    const edges = nets.flatMap((net) => this.byNet.get(net) ?? []).sort((a, b) => a - b);
    const values: number[] = [];
    for (const net of nets) values[net] = this.trace.initial[net] ? 1 : 0;
    const holds = predicateOf(logic);
    let now = holds(values);
    const pivots: Pivot[] = [];
    // On from the start of the record: a pivot there, with no edge (−1).
    if (now) {
      const form = constantForm(this.times.variables, this.trace.start);
      pivots.push({ t: this.trace.start, form, edge: -1, value: true });
    }
    let before = values.slice();
    let quiet: number[] = [];
    let last = -1;
    for (const edge of edges) {
      const { net, value } = this.trace.edges[edge]!;
      values[net] = value ? 1 : 0;
      const next = holds(values);
      if (next === now) {
        quiet.push(edge);
        continue;
      }
      // What came since the last pivot changed nothing. It stays between the two pivots, in any order that would have changed nothing either.
      this.stretch(holds, before, quiet, last, edge);
      const moment = this.moment(edge);
      if (moment) pivots.push({ ...moment, edge, value: next });
      now = next;
      before = values.slice();
      quiet = [];
      last = edge;
    }
    this.stretch(holds, before, quiet, last, -1);
    return pivots;
  }

  /** Changes between two pivots, after which nothing comes of them: between the pivots, and in order only where the order matters. */
  private stretch(
    holds: Predicate,
    before: readonly number[],
    quiet: readonly number[],
    last: number,
    next: number,
  ): void {
    if (this.scanned) return;
    const ends = (list: readonly number[]): number[] => [
      ...(last < 0 ? [] : [last]),
      ...list,
      ...(next < 0 ? [] : [next]),
    ];
    if (!this.indifferent(holds, before, quiet)) return this.chain(ends(quiet));
    if (quiet.length === 0) return this.chain(ends([]));
    for (const edge of quiet) this.chain(ends([edge]));
  }

  /** Whether a function stays the same whatever the order of these changes of different nets. */
  private indifferent(holds: Predicate, before: readonly number[], edges: readonly number[]): boolean {
    const courses = new Map<number, number[]>();
    for (const edge of edges) {
      const { net, value } = this.trace.edges[edge]!;
      const course = courses.get(net) ?? [before[net]!];
      course.push(value ? 1 : 0);
      courses.set(net, course);
    }
    const entries = [...courses];
    if (entries.length < 2) return true;
    // Each net goes through its own values in its own order, so every interleaving visits only combinations of those: if the function is
    // the same on all combinations, no interleaving changes it.
    if (entries.reduce((n, [, c]) => n * c.length, 1) > MOST_STATES) return false;
    const values = before.slice();
    const expected = holds(values);
    const all = (k: number): boolean => {
      if (k === entries.length) return holds(values) === expected;
      const [net, course] = entries[k]!;
      return course.every((value) => {
        values[net] = value;
        return all(k + 1);
      });
    };
    return all(0);
  }

  // ---------------------------------------------------------------- timers

  /** TON and TOF: a timed stretch outlasts the preset or not, as recorded. */
  private delay(e: number, pivots: readonly Pivot[], timed: boolean): void {
    const preset = this.times.preset(e);
    if (valueAt(preset, this.at) === 0) return;
    pivots.forEach((begin, i) => {
      if (begin.value !== timed) return;
      // On since before the record and not started by it: when its time began is not known, and nothing is concluded from it.
      if (begin.edge < 0 && !this.startsHere(e)) return;
      const end = pivots[i + 1];
      if (this.scanned) return this.scannedDelay(begin, end ?? null, preset);
      // The preset ends before, with, or after the input: which of the three is the order that is kept.
      if (end) this.keep({ t: begin.t + valueAt(preset, this.at), form: plus(begin.form, preset) }, end);
    });
  }

  /** Whether a block that is on from the start of the record began to time with it: its answer is caused by nothing recorded. */
  private startsHere(e: number): boolean {
    const { net } = this.rig.network.elements[e]!;
    return (this.byNet.get(net) ?? []).some((i) => this.trace.edges[i]!.cause < 0 && this.trace.edges[i]!.preset > 0);
  }

  /** In scan style a timer ends at the first scan at or after its preset. */
  private scannedDelay(begin: Moment, end: Moment | null, preset: Form): void {
    const scan = this.times.scan();
    const period = valueAt(scan, this.at);
    const waits = Math.ceil(valueAt(preset, this.at) / period);
    const lasts = end === null ? Infinity : Math.round((end.t - begin.t) / period);
    // (waits − 1) · scan < preset ≤ waits · scan: the same number of scans, of which the upper bound matters only if it runs out.
    if (waits < lasts) this.found.push(minus(scaled(scan, waits), preset));
    const least = Math.min(waits, lasts) - 1;
    if (least > 0) this.found.push(less(minus(preset, scaled(scan, least)), 1));
  }

  private pulse(e: number, pivots: readonly Pivot[], preset: Form): void {
    if (valueAt(preset, this.at) === 0) return;
    const answers = new Set(
      (this.byNet.get(this.rig.network.elements[e]!.net) ?? []).map((i) => this.trace.edges[i]!.cause),
    );
    let ends: Moment | null = null;
    for (const rise of pivots) {
      if (!rise.value || rise.edge < 0) continue;
      if (ends && !this.scanned) this.keep(ends, rise);
      // A rise while the pulse lasts starts nothing. One at its very end starts a new pulse or not by the rounds of that moment: the record says.
      const started = ends === null || (rise.t > ends.t ? true : rise.t === ends.t && answers.has(rise.edge));
      if (!started) continue;
      if (this.scanned) this.scannedDelay(rise, null, preset);
      const length = this.scanned ? this.wholeScans(preset) : preset;
      ends = { t: rise.t + valueAt(length, this.at), form: plus(rise.form, length) };
    }
  }

  private wholeScans(preset: Form): Form {
    const scan = this.times.scan();
    return scaled(scan, Math.ceil(valueAt(preset, this.at) / valueAt(scan, this.at)));
  }

  /** Edge detectors: whether a pulse is still on when the next comes. */
  private edges(e: number, rises: readonly Pivot[]): void {
    const response = this.times.response(e);
    for (let i = 1; i < rises.length; i++) {
      const before = rises[i - 1]!;
      this.keep({ t: before.t + valueAt(response, this.at), form: plus(before.form, response) }, rises[i]!);
    }
  }

  // ---------------------------------------------------------------- doors

  door(door: number): void {
    const drives = this.rig.drives.filter((d) => d.kind === 'door' && d.target === door).map((d) => d.net);
    if (drives.length > 1) {
      const any = drives.map((net): Logic => ({ op: 'net', net })).reduce((a, b) => ({ op: 'or', a, b }));
      this.pivots(any);
    }
    const { moves } = this.trace.doors[door]!;
    moves.forEach((move, k) => {
      const next = moves[k + 1];
      const { arrives } = this.forms.moves[door]![k]!;
      const turned = next && this.forms.moves[door]![k + 1]!.t;
      if (!next) return;
      if (!arrives || !turned) this.lost = true;
      // Arrived or turned round midway: positions after it differ between the two.
      else this.keep({ t: move.arrives, form: arrives }, { t: next.t, form: turned });
    });
  }

  /** The order of everything that is watched. */
  watched({ doors, nets }: Watch): void {
    const moments = [
      ...doors.flatMap((door) => this.doorMoments(door)),
      ...nets.flatMap((net) => this.netMoments(net)),
    ];
    // A chain of neighbours suffices: order is transitive.
    moments.sort((a, b) => a.t - b.t);
    for (let i = 1; i < moments.length; i++) this.keep(moments[i - 1]!, moments[i]!);
  }

  private doorMoments(door: number): Moment[] {
    const { moves } = this.trace.doors[door]!;
    return moves.flatMap((move, k) => {
      const { t, arrives } = this.forms.moves[door]![k]!;
      const next = moves[k + 1];
      const arrived = !next || move.arrives <= next.t;
      if (!t || (arrived && !arrives)) this.lost = true;
      return [
        ...(t ? [{ t: move.t, form: t }] : []),
        ...(arrived && arrives ? [{ t: move.arrives, form: arrives }] : []),
      ];
    });
  }

  private netMoments(net: number): Moment[] {
    return (this.byNet.get(net) ?? []).flatMap((edge) => this.moment(edge) ?? []);
  }
}
