/** What flows between the members of a section, and what presses in the pockets of its doors, while a repeating stroke goes on. */
import type { CoursePoint } from '../../flow/stroke-course';
import { lastAt } from '../../model/motion';
import type { RigFacts } from '../../run/facts';
import { quickRun } from '../../run/scenario-run';

/** Rising in `t` (µs of the timing model); null where it is not known. */
export interface Known {
  readonly t: number;
  readonly value: number | null;
}

export interface SectionFlow {
  /** bar, straight between points. */
  readonly pockets: readonly { readonly door: string; readonly points: readonly Known[] }[];
  /** kg/s from the upper member into the lower one, since the point before. */
  readonly links: readonly { readonly from: string; readonly to: string; readonly points: readonly Known[] }[];
  /** Greatest flow of all links, kg/s: by it arrows are sized. */
  readonly most: number;
}

/** Of stroke `index`; null where the flow engine does not follow it, or the medium is packed. Runs the flow engine: ask only when shown. */
export function strokeFlows(facts: RigFacts, index: number): SectionFlow | null {
  const { rig, flow } = facts;
  const model = quickRun(rig)?.model;
  const course = flow?.strokes.find((s) => s.stroke === index)?.course;
  if (!model || !course || model.law.phase === 'packed') return null;
  const { network } = model;
  const idOf = (cell: number): string =>
    cell < network.chambers
      ? `chamber:${rig.chambers[cell]!.name}`
      : `door:${rig.doors[cell - network.chambers]!.name}`;
  const along = (value: (point: CoursePoint) => number | null): Known[] =>
    course.points.map((point) => ({ t: point.t + course.from, value: value(point) }));
  const links = network.links.map(({ a, b }, k) => ({ from: idOf(a), to: idOf(b), points: along((p) => p.flow[k]!) }));
  const flows = course.points.flatMap((p) => p.flow.map((f) => Math.abs(f ?? 0)));
  return {
    pockets: rig.doors.map(({ name }, door) => ({
      door: `door:${name}`,
      points: along(({ pressure }) => bar(pressure[network.chambers + door]!)),
    })),
    links,
    most: flows.reduce((a, f) => Math.max(a, f), 0),
  };
}

const bar = (pascal: number | null): number | null =>
  pascal === null || !Number.isFinite(pascal) ? null : pascal / 1e5;

/** Pressure of a door's pocket at a moment, bar; null outside the stroke and where nothing could press. */
export function pocketAt({ pockets }: SectionFlow, door: string, t: number): number | null {
  const points = pockets.find((p) => p.door === door)?.points ?? [];
  const k = lastAt(points, t);
  const [here, next] = [points[k], points[k + 1]];
  if (!here || here.value === null) return null;
  if (!next) return here.t === t ? here.value : null;
  if (next.value === null || next.t === here.t) return here.value;
  return here.value + ((next.value - here.value) * (t - here.t)) / (next.t - here.t);
}

/** A flow smaller than this part of the greatest is none: what is left of settling. */
const LEAST = 1e-3;

/** What flows from one member into the next at a moment, kg/s downstream; 0 where nothing does, null where that is not known. */
export function flowAt({ links, most }: SectionFlow, from: string, to: string, t: number): number | null {
  const points = links.find((l) => l.from === from && l.to === to)?.points;
  // A point holds what flowed since the one before.
  const k = points ? lastAt(points, t) : -1;
  const now = points?.[k]?.t === t ? points[k] : points?.[k + 1];
  if (k < 0 || !now) return null;
  return now.value !== null && Math.abs(now.value) < LEAST * most ? 0 : now.value;
}
