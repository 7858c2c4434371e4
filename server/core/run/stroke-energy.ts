/** What a stroke costs, and what a longer interval between strokes saves and costs. */
import { doorEnergy, peakDoorPower } from '../flow/door-energy';
import type { EnergyFacts, EnergySplit, LongerInterval, WorkingPoint } from '../flow/facts';
import type { StrokePattern } from '../flow/pattern';
import { stateAt } from '../flow/states';
import type { GainCurve } from '../flow/stroke-roots';
import { balanceMass, gainCurve } from '../flow/stroke-roots';
import { massAt } from '../flow/vessel';
import { doorPowers } from './flow-run';
import { FIGURE } from './flow-work';
import type { StrokeContext } from './stroke-context';
import { fedChamber, netFeed, strokeAt } from './stroke-context';

const LONGER = [1.25, 1.5, 2, 3];

export function energyOf(context: StrokeContext): EnergyFacts {
  const { rig, model, pattern, interval } = context;
  const powers = doorPowers(rig);
  const working = context.filling()?.working ?? null;
  const split = working ? workingSplit(working, context) : strokeSplit(context);
  const moved = working ? working.moved / working.strokes : movedMass(context);
  return {
    obtained: working ? 'followed' : context.atTrigger.level,
    perStroke: split,
    perKg: moved > 0 ? split.total / moved : null,
    perDay: working ? (split.total * working.strokes * 86_400) / working.seconds : null,
    peakPower: peakDoorPower(pattern, powers) + model.lines.reduce((sum, line) => sum + line.power, 0),
    longer: interval === null ? [] : longerIntervals(context, interval),
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
function workingSplit({ energy, strokes }: WorkingPoint, context: StrokeContext): EnergySplit {
  const { doorsMoving, doorsHolding, compression, back, pumps } = energy;
  return splitOf(
    context,
    doorsMoving / strokes,
    doorsHolding / strokes,
    pumps / strokes,
    compression / strokes,
    back / strokes,
  );
}

/** The repeating stroke with the trigger's chamber at its threshold. */
function strokeSplit(context: StrokeContext): EnergySplit {
  const { rig, model, pattern, atTrigger } = context;
  const doors = doorEnergy(pattern, doorPowers(rig));
  const strokes = Math.max(1, pattern.strokes);
  const pumps = model.lines.reduce((sum, line, k) => sum + line.power * lineSeconds(pattern, k), 0) / strokes;
  return splitOf(context, doors.moving / strokes, doors.holding / strokes, pumps, atTrigger.work, atTrigger.back);
}

function splitOf(
  context: StrokeContext,
  doorsMoving: number,
  doorsHolding: number,
  pumps: number,
  compression: number,
  back: number,
): EnergySplit {
  return {
    doorsMoving,
    doorsHolding,
    compression,
    back,
    net: compression - back,
    compressionAtLimit: workAtLimit(context),
    pumps,
    total: doorsMoving + doorsHolding + compression + pumps,
  };
}

function workAtLimit(context: StrokeContext): number | null {
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
  const { work, doubt } = strokeAt(context, masses);
  if (doubt !== null) context.withhold('work with the store at its limit', doubt);
  return doubt === null ? work : null;
}

const lineSeconds = (pattern: StrokePattern, line: number): number =>
  (pattern.lines[line] ?? []).reduce((sum, [from, to]) => sum + (to - from), 0) / 1e6;

function longerIntervals(context: StrokeContext, interval: number): LongerInterval[] {
  const { model, strokes, trigger, work } = context;
  const chamber = fedChamber(context);
  const curve = chamber === null ? null : gainCurve(model, strokes, trigger, chamber, work.part(FIGURE.longer));
  const longer = LONGER.map((factor) => longerInterval(context, interval * factor, curve));
  const withheld = curve?.withheld() ?? null;
  if (withheld !== null) context.withhold('longer intervals', withheld);
  return longer;
}

function longerInterval(context: StrokeContext, interval: number, curve: GainCurve | null): LongerInterval {
  const { rig, model, trigger, pattern } = context;
  const chamber = curve?.chamber ?? null;
  const feed = chamber === null ? 0 : netFeed(model, chamber);
  const settles = curve === null || !(feed > 0) ? null : balanceMass(curve, feed * interval);
  // Below the trigger's threshold the rig waits for it.
  const peak = chamber === null || settles === null ? null : Math.max(settles, trigger[chamber]!);
  const doors = doorEnergy(pattern, doorPowers(rig));
  return {
    interval,
    doorsPerDay: ((doors.moving + doors.holding) * 86_400) / (interval * Math.max(1, pattern.strokes)),
    peak: peak === null ? null : stateAt(model, chamber!, peak),
  };
}
