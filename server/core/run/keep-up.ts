/** Whether strokes keep up with the feed: as the rig is followed by itself. */
import type { ChamberState, Filling, KeepUp } from '../flow/facts';
import { stateAt } from '../flow/states';
import { balanceMass, gainCurve } from '../flow/stroke-roots';
import { massAt } from '../flow/vessel';
import { FIGURE } from './flow-work';
import type { Work } from '../work/work';
import type { StrokeContext } from './stroke-context';
import { beyondFill, fedChamber, feedAt, strokeAt, withMass } from './stroke-context';

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
  const fed = feed > 0 ? feed : feedAt(context, chamber, trigger[chamber]! * (1 - 1e-9));
  if (!(fed > 0)) return null;
  const filling = yield* context.filling.work();
  // The others as they stand when the run brings the chamber to its limit: a full store takes less.
  const others = filling?.overLimit[chamber]?.mass ?? trigger;
  const stroke = yield* strokeAt(context, withMass(others, chamber, mass));
  if (stroke.doubt !== null) {
    context.withhold('what strokes can take away', stroke.doubt);
    return null;
  }
  const taken = -stroke.gains[chamber]!;
  const keeps = filling && (yield* keepsIn(context, filling, chamber));
  return {
    chamber,
    feed: fed,
    capacity: taken / interval,
    at: most !== null ? 'limit' : mass === model.start[chamber] ? 'start' : 'threshold',
    keeps,
    longestInterval: taken / fed,
    settlesAt: filling && (yield* settled(context, filling, chamber, most !== null)),
    highest: filling?.highest[chamber] ?? null,
  };
}

/**
 * The highest state of the chamber: as followed where that is the last word. Where another chamber cut the run short, and no limit
 * matters: where strokes would take what the feed brings, the others as they stood then.
 */
function* settled(
  context: StrokeContext,
  filling: Filling,
  chamber: number,
  isLimited: boolean,
): Work<ChamberState | null> {
  const { interval, strokes, model, work } = context;
  if (isHeld(filling, chamber)) return filling.highest[chamber]!;
  const last = filling.points[filling.points.length - 1]?.mass;
  if (!last || isLimited || filling.rising.includes(chamber) || filling.ended === 'never') return null;
  const mass = yield* balanceMass(
    gainCurve(model, strokes, last, chamber, work.part(FIGURE.ceiling)),
    feedAt(context, chamber, last[chamber]!) * interval!,
  );
  const state = mass === null ? null : stateAt(model, chamber, mass);
  return state === null || beyondFill(context, chamber, state) ? null : state;
}

/**
 * Kept where the followed run stays below the limit and comes to rest, or goes on for long with this chamber no higher than before.
 * A run that another chamber cuts short says how it stands there: strokes take what the feed brings, or they do not.
 */
function* keepsIn(context: StrokeContext, filling: Filling, chamber: number): Work<boolean | null> {
  if (filling.overLimit[chamber] || filling.rising.includes(chamber)) return false;
  if (isHeld(filling, chamber)) return true;
  const { interval } = context;
  const last = filling.points[filling.points.length - 1]?.mass;
  if (!last || filling.ended === 'never') return null;
  const mass = filling.highest[chamber]!.mass;
  const { gains, doubt } = yield* strokeAt(context, withMass(last, chamber, mass));
  return doubt !== null ? null : feedAt(context, chamber, mass) <= -gains[chamber]! / interval!;
}

/** Strokes in the second half of a run, at least, before a chamber counts as held in it. */
const LONG = 20;

/** Whether the highest state of a chamber in the followed run is the last word on it. */
function isHeld({ ended, rising, points, strokes }: Filling, chamber: number): boolean {
  if (rising.includes(chamber)) return false;
  if (ended === 'steady' || ended === 'stopped' || ended === 'round') return true;
  const half = points.findIndex((p) => p.strokes >= strokes / 2);
  if (half < 0 || strokes < 2 * LONG) return false;
  const most = (from: number, to: number): number =>
    points.slice(from, to).reduce((high, p) => Math.max(high, p.mass[chamber]!), 0);
  return most(half, points.length) <= most(0, half) * (1 + 1e-4);
}
