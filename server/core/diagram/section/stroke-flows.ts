/** What flows between the members of a section, and what presses in the pockets of its doors, while a repeating stroke or a scenario goes on. */
import type { FlowModel } from '../../flow/rig-model';
import type { Rig } from '../../model/rig';
import type { ClosedPeriod } from '../../run/closed-periods';
import type { CoupledRun } from '../../run/coupled';
import type { RigFacts } from '../../run/facts';
import { flowsBetween, pressuresOf } from '../../run/flow-course';
import { quickRun, scenarioRun } from '../../run/scenario-run';

/** One value a moment; null where it is not known. */
type Values = readonly (number | null)[];

export interface SectionFlow {
  /** Rising, µs of the timing model; two alike where something happens at once. */
  readonly times: readonly number[];
  /** bar, straight between moments. */
  readonly pockets: readonly { readonly door: string; readonly values: Values }[];
  /** kg/s from the upper member into the lower one, since the moment before. */
  readonly links: readonly { readonly from: string; readonly to: string; readonly values: Values }[];
  /** Greatest flow of all links, kg/s: by it arrows are sized. */
  readonly most: number;
  /** Periods that come again and again from their end until a moment, µs: what flows then is what flowed in the one that was followed. */
  readonly closed: readonly Pick<ClosedPeriod, 'from' | 'period' | 'until'>[];
  /** µs up to which anything is known of a long run; null where of all of it. */
  readonly ends: number | null;
}

/** What presses in every cell at a moment, Pa, and what passes every link since the moment before, kg/s. */
interface Moment {
  readonly t: number;
  readonly pressure: Values;
  readonly flow: Values;
}

/** Of stroke `index`; null where the flow engine does not follow it, or the medium is packed. Runs the flow engine: ask only when shown. */
export function strokeFlows(facts: RigFacts, index: number): SectionFlow | null {
  const model = quickRun(facts.rig)?.model;
  const course = facts.flow?.strokes.find((s) => s.stroke === index)?.course;
  if (!model || !course) return null;
  const moments = course.points.map(({ t, pressure, flow }) => ({ t: t + course.from, pressure, flow }));
  return flowOf(facts.rig, model, moments, { closed: [], ends: null });
}

/** Of a scenario followed up to `until`, µs; null where it is not followed with contents, or the medium is packed. */
export function scenarioFlows(rig: Rig, scenario: number, until: number): SectionFlow | null {
  const model = quickRun(rig)?.model;
  const run = model && scenarioRun(rig, scenario, until);
  return run ? runFlows(rig, model, run) : null;
}

/** Of a followed run; null where the medium is packed. */
export function runFlows(
  rig: Rig,
  model: FlowModel,
  { course, closed, courseEnds }: Pick<CoupledRun, 'course' | 'closed' | 'courseEnds'>,
): SectionFlow | null {
  const nothing = model.network.links.map(() => null);
  const moments = course.map((moment, k) => ({
    t: moment.t,
    pressure: pressuresOf(model, moment),
    flow: k === 0 ? nothing : flowsBetween(model, course[k - 1]!, moment),
  }));
  return flowOf(rig, model, moments, { closed, ends: courseEnds });
}

function flowOf(
  rig: Rig,
  { network, law }: FlowModel,
  moments: readonly Moment[],
  { closed, ends }: Pick<SectionFlow, 'closed' | 'ends'>,
): SectionFlow | null {
  if (law.phase === 'packed') return null;
  const idOf = (cell: number): string =>
    cell < network.chambers
      ? `chamber:${rig.chambers[cell]!.name}`
      : `door:${rig.doors[cell - network.chambers]!.name}`;
  const flows = moments.flatMap(({ flow }) => flow.map((f) => Math.abs(f ?? 0)));
  return {
    times: moments.map((m) => m.t),
    pockets: rig.doors.map(({ name }, door) => ({
      door: `door:${name}`,
      values: moments.map(({ pressure }) => short(bar(pressure[network.chambers + door]!))),
    })),
    links: network.links.map(({ a, b }, k) => ({
      from: idOf(a),
      to: idOf(b),
      values: moments.map(({ flow }) => short(flow[k]!)),
    })),
    most: flows.reduce((a, f) => Math.max(a, f), 0),
    closed: closed.map(({ from, period, until }) => ({ from, period, until })),
    ends,
  };
}

/** As many figures as are shown and one more: thousands of them go to the page. */
const short = (value: number | null): number | null => (value === null ? null : Number(value.toPrecision(6)));

const bar = (pascal: number | null): number | null =>
  pascal === null || !Number.isFinite(pascal) ? null : pascal / 1e5;

/** The moment that was followed for a moment that was counted; any other as it is. */
function followed({ closed }: SectionFlow, t: number): number {
  const period = closed.find((c) => t > c.from + c.period && t <= c.until);
  return period ? period.from + ((t - period.from) % period.period) : t;
}

/** Pressure of a door's pocket at a moment, bar; null outside the stroke and where nothing could press. */
export function pocketAt(flow: SectionFlow, door: string, at: number): number | null {
  const { times, pockets } = flow;
  const values = pockets.find((p) => p.door === door)?.values;
  const t = followed(flow, at);
  const k = lastTime(times, t);
  const [here, next] = [values?.[k] ?? null, values?.[k + 1]];
  if (here === null) return null;
  if (next === undefined) return times[k] === t ? here : null;
  if (next === null || times[k + 1] === times[k]) return here;
  return here + ((next - here) * (t - times[k]!)) / (times[k + 1]! - times[k]!);
}

/** A flow smaller than this part of the greatest is none: what is left of settling. */
const LEAST = 1e-3;

/** What flows from one member into the next at a moment, kg/s downstream; 0 where nothing does, null where that is not known. */
export function flowAt(flow: SectionFlow, from: string, to: string, at: number): number | null {
  const { times, links, most } = flow;
  const values = links.find((l) => l.from === from && l.to === to)?.values;
  const t = followed(flow, at);
  const k = lastTime(times, t);
  if (!values || k < 0) return null;
  // A moment has what flowed since the one before; at a moment itself it is what flows after it, as doors are shown.
  const now = k + 1 < times.length ? values[k + 1]! : times[k] === t ? values[k]! : null;
  if (now === null) return null;
  return Math.abs(now) < LEAST * most ? 0 : now;
}

/** Place of the last of rising times at or before `t`; -1 where there is none. */
function lastTime(times: readonly number[], t: number): number {
  let [low, high] = [0, times.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle]! <= t) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}
