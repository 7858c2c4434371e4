/** What a stroke costs, and what a longer interval between strokes saves and costs. */
import { doorEnergy, drivesEnergy, peakDoorPower } from '../flow/door-energy';
import type { EnergyFacts, EnergySplit, LongerInterval, WorkingPoint } from '../flow/facts';
import { drivesOfLine } from '../model/logic';
import type { StrokePattern } from '../flow/pattern';
import { stateAt } from '../flow/states';
import type { GainCurve } from '../flow/stroke-roots';
import { balanceMass, gainCurve } from '../flow/stroke-roots';
import { massAt } from '../flow/vessel';
import { sumOf } from '../flow/watch';
import { doorPowers } from './flow-run';
import { FIGURE } from './flow-work';
import { beside } from '../units/noise';
import type { Work } from '../work/work';
import type { StrokeContext } from './stroke-context';
import { beyondFill, fedChamber, feedAt, strokeAt, withMass } from './stroke-context';
import { say } from '../words/say';

/** Times the interval that is looked at. */
const LONGER = [1.25, 1.5, 2, 3];
/** Times what a chamber holds: further than anything that feeds are conditioned on. */
const FAR = 1e4;

export function* energyOf(context: StrokeContext): Work<EnergyFacts> {
  const { rig, model, pattern, interval, impossible } = context;
  const powers = doorPowers(rig);
  const working = impossible ? null : ((yield* context.filling.work())?.working ?? null);
  const atLimit = impossible ? null : yield* workAtLimit(context);
  const split = working ? workingSplit(working, context, atLimit) : strokeSplit(context, atLimit);
  const moved = working ? working.moved / working.strokes : movedMass(context);
  const day = working ? (working.strokes * 86_400) / working.seconds : 0;
  return {
    obtained: working ? 'followed' : context.atTrigger.level,
    perStroke: split,
    perKg: moved > 0 && split.total !== null ? split.total / moved : null,
    perDay: working && split.total !== null ? split.total * day : null,
    netPerDay: working && split.total !== null ? beside(split.total - split.back!, split.total) * day : null,
    peakPower: peakDoorPower(pattern, powers) + model.lines.reduce((sum, line) => sum + line.power, 0),
    longer: interval === null ? [] : yield* longerIntervals(context, interval),
  };
}

/** kg that reach the last chambers of the stacks by one stroke, each chamber once. */
function movedMass({ rig, atTrigger }: StrokeContext): number {
  const ends = new Set(rig.stacks.map((stack) => stack.members[stack.members.length - 1]!.index));
  let sum = 0;
  for (const end of ends) sum += Math.max(0, atTrigger.gains[end] ?? 0);
  return sum;
}

/** Means over the strokes of the working point. */
function workingSplit({ energy, strokes }: WorkingPoint, context: StrokeContext, atLimit: number | null): EnergySplit {
  const { doorsMoving, doorsHolding, compression, back, pumps, drives } = energy;
  return splitOf(context, atLimit, {
    doorsMoving: doorsMoving / strokes,
    doorsHolding: doorsHolding / strokes,
    pumps: pumps / strokes,
    work: compression / strokes,
    returned: back / strokes,
    drives: drives / strokes,
  });
}

/** The repeating stroke with the trigger's chamber at its threshold. */
function strokeSplit(context: StrokeContext, atLimit: number | null): EnergySplit {
  const { rig, model, pattern, atTrigger } = context;
  const strokes = Math.max(1, pattern.strokes);
  const doors = doorEnergy(pattern, doorPowers(rig));
  const moving = doors.moving.map((joules) => joules / strokes);
  const pumps = model.lines.reduce((sum, line, k) => sum + line.power * lineSeconds(pattern, k), 0) / strokes;
  return splitOf(context, atLimit, {
    doorsMoving: sumOf(moving),
    doorsHolding: doors.holding / strokes,
    pumps,
    work: atTrigger.work,
    returned: atTrigger.back,
    drives: drivesEnergy(moving, atTrigger.done),
  });
}

/** J per stroke; see `EnergySplit`. */
interface Parts {
  readonly doorsMoving: number;
  readonly doorsHolding: number;
  readonly pumps: number;
  readonly work: number;
  readonly returned: number;
  readonly drives: number;
}

function splitOf(context: StrokeContext, atLimit: number | null, parts: Parts): EnergySplit {
  const { doorsMoving, doorsHolding, pumps, work, returned, drives } = parts;
  const isKnown = context.impossible === null;
  return {
    doorsMoving,
    doorsHolding,
    compression: isKnown ? work : null,
    back: isKnown ? returned : null,
    net: isKnown ? beside(work - returned, work) : null,
    compressionAtLimit: atLimit,
    pumps,
    drives: isKnown ? drives : null,
    total: isKnown ? drives + doorsHolding + pumps : null,
  };
}

function* workAtLimit(context: StrokeContext): Work<number | null> {
  const { rig, model, trigger } = context;
  if (!rig.stacks.some((stack) => rig.chambers[stack.members[stack.members.length - 1]!.index]?.limit)) return null;
  const masses = trigger.map((m, k) => {
    const limit = rig.chambers[k]!.limit;
    const isEnd = rig.stacks.some((stack) => stack.members[stack.members.length - 1]!.index === k);
    const vessel = model.vessels[k]!;
    return (
      (limit && isEnd ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null) ?? m
    );
  });
  const { work, doubt } = yield* strokeAt(context, masses);
  if (doubt !== null) context.withhold(say`work with the store at its limit`, doubt);
  return doubt === null ? work : null;
}

const lineSeconds = (pattern: StrokePattern, line: number): number =>
  (pattern.lines[line] ?? []).reduce((sum, [from, to]) => sum + (to - from), 0) / 1e6;

function* longerIntervals(context: StrokeContext, interval: number): Work<LongerInterval[]> {
  const { model, strokes, work, trigger } = context;
  const filling = yield* context.filling.work();
  // Where strokes balance a feed depends on the other chambers: known at the rig's working point, and nowhere else.
  const others = filling?.working ? filling.points[filling.points.length - 1]?.mass : undefined;
  const chamber = others ? fedChamber(context) : null;
  const curve =
    chamber === null
      ? null
      : gainCurve(model, strokes, withMass(others!, chamber, trigger[chamber]!), chamber, work.part(FIGURE.longer));
  const longer: LongerInterval[] = [];
  for (const factor of LONGER) longer.push(yield* longerInterval(context, interval * factor, curve));
  const withheld = curve?.withheld() ?? null;
  if (withheld !== null) context.withhold(say`longer intervals`, withheld);
  return longer;
}

function* longerInterval(context: StrokeContext, interval: number, curve: GainCurve | null): Work<LongerInterval> {
  const { rig, model, trigger, pattern } = context;
  const chamber = curve?.chamber ?? null;
  const doors = doorEnergy(pattern, doorPowers(rig));
  const doorsPerDay = ((sumOf(doors.moving) + doors.holding) * 86_400) / (interval * Math.max(1, pattern.strokes));
  if (curve === null || chamber === null || !(feedAt(context, chamber, trigger[chamber]!) > 0)) {
    return { interval, doorsPerDay, peak: null, beyond: null };
  }
  const isSwitched = rig.lines.some((line, k) => line.chamber === chamber && drivesOfLine(rig, k).length > 0);
  if (isSwitched) return { interval, doorsPerDay, peak: null, beyond: say`as its feed is driven` };
  const feed = feedAt(context, chamber, trigger[chamber]!);
  const settles = yield* settlesAt(context, curve, feed * interval);
  if (settles === null) return { interval, doorsPerDay, peak: null, beyond: say`does not settle` };
  // Below the trigger's threshold the rig waits for it.
  const peak = stateAt(model, chamber, Math.max(fedUpTo(context, chamber, settles), trigger[chamber]!));
  const beyond = beyondFill(context, chamber, peak);
  return { interval, doorsPerDay, peak: beyond ? null : peak, beyond };
}

/** Where strokes take what comes in, or beyond: where feeds end before that, no more is asked of the curve than its value there. */
function* settlesAt(context: StrokeContext, curve: GainCurve, inflow: number): Work<number | null> {
  const far = FAR * Math.max(context.trigger[curve.chamber]!, inflow);
  if (feedAt(context, curve.chamber, far) > 0) return yield* balanceMass(curve, inflow);
  const ends = fedUpTo(context, curve.chamber, far);
  const isBeyond = ends > 0 && (yield* curve.curve.at(ends)) + inflow > 0;
  return isBeyond ? ends : yield* balanceMass(curve, inflow);
}

/** The mass up to which the feeds of a chamber bring anything, or `most` where that is higher. */
function fedUpTo(context: StrokeContext, chamber: number, most: number): number {
  if (feedAt(context, chamber, most) > 0) return most;
  let [low, high] = [context.trigger[chamber]!, most];
  for (let k = 0; k < 60 && high - low > 1e-12 * high; k++) {
    const middle = 0.5 * (low + high);
    if (feedAt(context, chamber, middle) > 0) low = middle;
    else high = middle;
  }
  return low;
}
