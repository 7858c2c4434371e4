/** Whether strokes keep up with the feed: as the rig is followed by itself. */
import type { ChamberState, Filling, KeepUp, Rise, RunPoint } from '../flow/facts';
import { stateOf } from '../flow/states';
import { massAt } from '../flow/vessel';
import type { Rig } from '../model/rig';
import type { Work } from '../work/work';
import type { StrokeContext } from './stroke-context';
import { fedChamber, feedAt, strokeAt, withMass } from './stroke-context';
import { say } from '../words/say';

export function* keepUpOf(context: StrokeContext): Work<KeepUp | null> {
  const { rig, model, trigger, interval } = context;
  const chamber = fedChamber(context);
  if (chamber === null || interval === null) return null;
  const { limit } = rig.chambers[chamber]!;
  const vessel = model.vessels[chamber]!;
  const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
  const mass = most ?? trigger[chamber]!;
  const feed = feedAt(context, chamber, mass);
  // A feed that its own condition stops before the limit still has to be carried until then.
  const fed = feed > 0 ? feed : feedAt(context, chamber, trigger[chamber]! * (1 - 1e-3));
  if (!(fed > 0)) return null;
  const filling = yield* context.filling.work();
  // The others as they stand when the run brings the chamber to its limit: a full store takes less.
  const others = filling?.overLimit[chamber]?.mass ?? trigger;
  const stroke = yield* strokeAt(context, withMass(others, chamber, mass));
  if (stroke.doubt !== null) {
    context.withhold(say`what strokes can take away`, stroke.doubt);
    return null;
  }
  const capacity = -stroke.gains[chamber]! / interval;
  const kept = filling ? yield* keepsIn(context, filling, chamber) : NOT_FOLLOWED;
  const because = kept.keeps === false ? reasonOf(context, filling!, chamber, capacity < fed) : null;
  // Rising where it is, with strokes that take enough at its limit: it may settle below that.
  const keeps = kept.keeps === false && because === null ? null : kept.keeps;
  return {
    chamber,
    feed: fed,
    capacity,
    at: most !== null ? 'limit' : mass === model.start[chamber] ? 'start' : 'threshold',
    keeps,
    because,
    longestInterval: (capacity * interval) / fed,
    settlesAt: filling && isHeld(filling, chamber) ? filling.highest[chamber]! : null,
    highest: filling?.highest[chamber] ?? null,
    heldBy: filling && kept.keeps === true ? heldBy(context, chamber, filling.highest[chamber]!) : [],
    rise: kept.rise,
  };
}

interface Kept {
  readonly keeps: boolean | null;
  readonly rise: Rise | null;
}

const NOT_FOLLOWED: Kept = { keeps: null, rise: null };

/**
 * Kept where the followed run stays below the limit and settles, or goes on for long with this chamber no higher than before; not
 * where it goes on rising as fast as before. A run that is cut short says how it stands there: strokes take what the feed brings, or not.
 */
function* keepsIn(context: StrokeContext, filling: Filling, chamber: number): Work<Kept> {
  if (filling.overLimit[chamber] || filling.rising.includes(chamber)) return { keeps: false, rise: null };
  if (isHeld(filling, chamber)) return { keeps: true, rise: null };
  const last = filling.points[filling.points.length - 1]?.mass;
  if (!last || filling.ended === 'never') return NOT_FOLLOWED;
  const trend = trendOf(filling, chamber);
  // A run that ends with the law says how it rises there, and nothing of what comes after.
  const ends = filling.ended === 'left' && filling.rising.length === 0;
  if (trend === 'steady') return { keeps: ends ? null : false, rise: riseOf(context, filling, chamber) };
  const mass = filling.highest[chamber]!.mass;
  const atEnd = yield* strokeAt(context, withMass(last, chamber, mass));
  // Where the run ends because the store takes no more, as long as it did.
  const { gains, doubt } =
    atEnd.doubt === null ? atEnd : yield* strokeAt(context, withMass(context.trigger, chamber, mass));
  if (doubt !== null) return NOT_FOLLOWED;
  const isCarried = feedAt(context, chamber, mass) <= -gains[chamber]! / context.interval!;
  // Rising less and less, it may settle yet: what a stroke lacks now says nothing about where.
  return { keeps: isCarried ? true : trend === 'slower' ? null : false, rise: null };
}

/** Strokes in the second half of a run, at least, before a chamber counts as held in it. */
const LONG = 20;
/** Relative change of the highest state that is none. */
const LEVEL = 1e-4;
/** Part of the rise before that a rise must have to count as going on without end. */
const AS_BEFORE = 0.8;

/** The highest mass of a chamber from one part of a run to another, as parts of its time. */
function highestIn({ points, seconds }: Filling, chamber: number, from: number, to: number): number {
  const inside = points.filter(({ t }) => t >= from * seconds * 1e6 && t <= to * seconds * 1e6);
  return inside.reduce((high, p) => Math.max(high, p.mass[chamber]!), 0);
}

/** How the highest states of a chamber go on in the last three quarters of a run; null where it is too short to tell. */
function trendOf(filling: Filling, chamber: number): 'steady' | 'slower' | null {
  if (filling.strokes < 2 * LONG) return null;
  const [a, b, c] = [0.25, 0.5, 0.75].map((from) => highestIn(filling, chamber, from, from + 0.25));
  if (c! - b! <= LEVEL * b!) return null;
  return c! - b! >= AS_BEFORE * (b! - a!) ? 'steady' : 'slower';
}

/** How fast the chamber rises in the second half of the run, and the first limit that this would pass. */
function riseOf({ rig, model }: StrokeContext, filling: Filling, chamber: number): Rise | null {
  const { points } = filling;
  const half = points.find(({ t }) => t >= 0.5e6 * filling.seconds);
  const last = points[points.length - 1];
  if (!half || !last || last.t <= half.t) return null;
  const seconds = (last.t - half.t) / 1e6;
  const limits = rig.chambers.flatMap(({ limit }, k) => {
    const vessel = model.vessels[k]!;
    const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
    const rate = (last.mass[k]! - half.mass[k]!) / seconds;
    if (most === null || !(rate > 0) || filling.overLimit[k]) return [];
    return [{ chamber: k, at: last.t / 1e6 + (most - last.mass[k]!) / rate }];
  });
  const state = (point: RunPoint): ChamberState =>
    stateOf(model, chamber, point.mass[chamber]!, point.temperature[chamber]!);
  return {
    from: state(half),
    to: state(last),
    seconds,
    limit: limits.sort((a, b) => a.at - b.at)[0] ?? null,
  };
}

/**
 * Why the fed chamber fills: the strokes end and its feed goes on; they take less than comes; what they take stays in a chamber further
 * on, from which less is drawn; or they take enough at its limit, which it has passed before they come. Null where none of these is so.
 */
function reasonOf({ rig }: StrokeContext, filling: Filling, chamber: number, takesLess: boolean): KeepUp['because'] {
  if (filling.rising.includes(chamber)) return { kind: 'stopped', chamber };
  if (takesLess) return { kind: 'less', chamber };
  // It settles, above its limit: what it has passed on the way is not for lack of draws.
  if (isHeld(filling, chamber)) return { kind: 'late', chamber };
  const half = filling.points.find(({ t }) => t >= 0.5e6 * filling.seconds);
  const last = filling.points[filling.points.length - 1];
  const gained = (k: number): number => (last && half ? last.mass[k]! - half.mass[k]! : 0);
  const ends = endsFrom(rig, chamber).filter((k) => gained(k) > 0);
  const end = ends.sort((a, b) => gained(b) - gained(a))[0];
  if (end === undefined) return filling.overLimit[chamber] ? { kind: 'late', chamber } : null;
  const isDrawn = rig.lines.some((line) => line.kind === 'draw' && line.chamber === end);
  return { kind: isDrawn ? 'drawn-less' : 'not-drawn', chamber: end };
}

/** The chambers in which stacks end that start from a chamber, or from the end of such a stack. */
function endsFrom(rig: Rig, chamber: number): number[] {
  const ends = new Set<number>();
  const from = [chamber];
  for (let head = from.pop(); head !== undefined; head = from.pop()) {
    for (const { members } of rig.stacks) {
      const end = members[members.length - 1]!.index;
      if (members[0]!.index !== head || end === chamber || ends.has(end)) continue;
      ends.add(end);
      from.push(end);
    }
  }
  return [...ends];
}

/** Parts by which a chamber may stay below a condition that holds it: strokes take from it between two looks. */
const NEAR = 5e-3;

/** Feeds of the chamber whose condition ends where it stands highest. */
function heldBy({ rig }: StrokeContext, chamber: number, state: ChamberState): number[] {
  return rig.lines.flatMap(({ kind, only, chamber: fed }, k) => {
    if (kind !== 'feed' || fed !== chamber || only?.side !== 'below') return [];
    const reading = state[only.sensed];
    return reading !== null && reading >= only.value.nominal * (1 - NEAR) ? [k] : [];
  });
}

/** Whether the highest state of a chamber in the followed run is the last word on it. */
function isHeld({ ended, rising, points, strokes }: Filling, chamber: number): boolean {
  if (rising.includes(chamber)) return false;
  if (ended === 'steady' || ended === 'stopped' || ended === 'round') return true;
  const half = points.findIndex((p) => p.strokes >= strokes / 2);
  if (half < 0 || strokes < 2 * LONG) return false;
  const most = (from: number, to: number): number =>
    points.slice(from, to).reduce((high, p) => Math.max(high, p.mass[chamber]!), 0);
  return most(half, points.length) <= most(0, half) * (1 + LEVEL);
}
