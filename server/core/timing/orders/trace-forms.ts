/**
 * The moments of a recorded run as forms: an edge comes its element's preset and response after the edge that caused it, a door arrives
 * its travel after it began to move. Each form is checked against the recorded moment; where one does not fit (a door turned round
 * midway at uneven speeds, a timer under way before the record) there is none, and nothing may be concluded from that moment.
 *
 * Induction over the record: causes come first, so when an edge is read the form of its cause is known. The check against the record makes
 * this safe without trusting the reasoning: a form is only ever used where it gives the moment that the engine gave.
 */
import type { Rig } from '../../model/rig';
import { finish, type Work } from '../../work/work';
import type { Trace } from '../trace';
import { constantForm, minus, plus, sameForm, scaled, valueAt, type Form } from './form';

/** Every time of a rig as a form over the variables in question. */
export interface TimeForms {
  readonly variables: number;
  readonly preset: (element: number) => Form;
  readonly response: (element: number) => Form;
  readonly opensIn: (door: number) => Form;
  readonly closesIn: (door: number) => Form;
  readonly scan: () => Form;
}

/** One movement of a door: when it begins and when it arrives. */
export interface MoveForms {
  readonly t: Form | null;
  readonly arrives: Form | null;
}

export interface TraceForms {
  readonly edges: readonly (Form | null)[];
  /** By door, then by movement. */
  readonly moves: readonly (readonly MoveForms[])[];
}

/** @param at values of the variables with which the trace was recorded */
export const formsOfTrace = (rig: Rig, trace: Trace, times: TimeForms, at: readonly number[]): TraceForms =>
  finish(formsWork(rig, trace, times, at));

/** Forms made in one step. */
const PER_STEP = 32;

/** The same in steps. */
export function* formsWork(rig: Rig, trace: Trace, times: TimeForms, at: readonly number[]): Work<TraceForms> {
  const zero = constantForm(times.variables, 0);
  const edges: (Form | null)[] = [];
  const scanned = rig.controller.style === 'scan';
  for (const edge of trace.edges) {
    const candidates = scanned ? scanForms(times, at, edge.t) : responseForms(rig, trace, times, edges, edge, zero);
    // The first that fits: at one moment several sums may coincide, and the orders then keep them together.
    edges.push(candidates.find((form) => valueAt(form, at) === edge.t) ?? null);
    if (edges.length % PER_STEP === 0) yield;
  }
  const moves: MoveForms[][] = [];
  for (const [door, track] of trace.doors.entries()) {
    moves.push(doorForms(track.moves, door, trace.start, edges, times, at, zero));
    if (moves.length % PER_STEP === 0) yield;
  }
  return { edges, moves };
}

/** In scan style everything happens at scans: a whole number of scan times after the trigger. */
function scanForms(times: TimeForms, at: readonly number[], t: number): Form[] {
  const scan = times.scan();
  const scans = t / valueAt(scan, at);
  return Number.isInteger(scans) ? [scaled(scan, scans)] : [];
}

function responseForms(
  rig: Rig,
  trace: Trace,
  times: TimeForms,
  edges: readonly (Form | null)[],
  edge: Trace['edges'][number],
  zero: Form,
): Form[] {
  const net = rig.network.nets[edge.net]!;
  if (edge.cause >= 0 && !edges[edge.cause]) return [];
  const since = edge.cause < 0 ? zero : edges[edge.cause]!;
  if (net.kind !== 'element') return edge.cause < 0 && edge.t === trace.start ? [zero] : [];
  const { kind, preset } = rig.network.elements[net.index]!;
  const response = times.response(net.index);
  const answered = plus(since, response);
  if (edge.preset > 0 && preset) return [plus(answered, times.preset(net.index))];
  // The end of an edge pulse: one response wide, seen one response later.
  const pulsed = kind === 'R_TRIG' || kind === 'F_TRIG' ? [plus(answered, response)] : [];
  // A block that is on from the start of the record starts with it.
  const fromStart = edge.cause < 0 && preset ? [plus(answered, times.preset(net.index))] : [];
  return [answered, ...pulsed, ...fromStart];
}

function doorForms(
  moves: Trace['doors'][number]['moves'],
  door: number,
  start: number,
  edges: readonly (Form | null)[],
  times: TimeForms,
  at: readonly number[],
  zero: Form,
): MoveForms[] {
  const found: MoveForms[] = [];
  moves.forEach((move, k) => {
    const t = move.cause >= 0 ? edges[move.cause]! : move.t === start ? zero : null;
    const arrives = t && arrivalOf(move, t, door, times, moves[k - 1], found[k - 1]);
    const fits = (form: Form | null, value: number): Form | null => (form && valueAt(form, at) === value ? form : null);
    found.push({ t: fits(t, move.t), arrives: fits(arrives, move.arrives) });
  });
  return found;
}

function arrivalOf(
  move: Trace['doors'][number]['moves'][number],
  t: Form,
  door: number,
  times: TimeForms,
  before: Trace['doors'][number]['moves'][number] | undefined,
  beforeForms: MoveForms | undefined,
): Form | null {
  const opens = times.opensIn(door);
  const closes = times.closesIn(door);
  if (move.from === (move.to === 1 ? 0 : 1)) return plus(t, move.to === 1 ? opens : closes);
  // Turned round midway: at equal speeds the way back takes as long as the way there.
  const fromEnd = before && (before.from === 0 || before.from === 1);
  if (!fromEnd || !beforeForms?.t || !sameForm(opens, closes)) return null;
  return plus(t, minus(t, beforeForms.t));
}
