/** What a stroke costs, and what a longer interval between strokes saves and costs. */
import { doorEnergy, peakDoorPower } from '../flow/door-energy';
import type { EnergyFacts, LongerInterval } from '../flow/facts';
import type { StrokePattern } from '../flow/pattern';
import { stateAt } from '../flow/states';
import { balanceMass, strokeFrom } from '../flow/strokes';
import { massAt } from '../flow/vessel';
import { doorPowers } from './flow-run';
import type { StrokeContext } from './stroke-context';
import { fedChamber, netFeed } from './stroke-context';

const LONGER = [1.25, 1.5, 2, 3];

export function energyOf(context: StrokeContext, work: number, moved: number): EnergyFacts {
  const { rig, model, pattern, interval } = context;
  const powers = doorPowers(rig);
  const doors = doorEnergy(pattern, powers);
  const strokes = Math.max(1, pattern.strokes);
  const pumps = model.lines.reduce((sum, line, k) => sum + line.power * lineSeconds(pattern, k), 0) / strokes;
  const split = {
    doorsMoving: doors.moving / strokes,
    doorsHolding: doors.holding / strokes,
    compression: work,
    compressionAtLimit: workAtLimit(context),
    pumps,
    total: doors.moving / strokes + doors.holding / strokes + Math.max(0, work) + pumps,
  };
  const day = interval === null ? null : 86_400 / interval;
  return {
    perStroke: split,
    perKg: moved > 0 ? split.total / moved : null,
    perDay: day === null ? null : split.total * day,
    peakPower: peakDoorPower(pattern, powers) + model.lines.reduce((sum, line) => sum + line.power, 0),
    longer: interval === null ? [] : LONGER.map((factor) => longerInterval(context, interval * factor, split)),
  };
}

function workAtLimit({ rig, model, program, trigger }: StrokeContext): number | null {
  if (!rig.stacks.some((stack) => rig.chambers[stack.members[stack.members.length - 1]!.index]?.limit)) return null;
  const masses = trigger.map((m, k) => {
    const limit = rig.chambers[k]!.limit;
    const isEnd = rig.stacks.some((stack) => stack.members[stack.members.length - 1]!.index === k);
    const vessel = model.vessels[k]!;
    return (
      (limit && isEnd ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null) ?? m
    );
  });
  return strokeFrom(model, program, masses).work;
}

const lineSeconds = (pattern: StrokePattern, line: number): number =>
  (pattern.lines[line] ?? []).reduce((sum, [from, to]) => sum + (to - from), 0) / 1e6;

function longerInterval(
  context: StrokeContext,
  interval: number,
  split: { readonly doorsMoving: number; readonly doorsHolding: number },
): LongerInterval {
  const { model, program, trigger } = context;
  const chamber = fedChamber(context);
  const feed = chamber === null ? 0 : netFeed(model, chamber);
  const settles =
    chamber === null || !(feed > 0) ? null : balanceMass(model, program, trigger, chamber, feed * interval);
  // Below the trigger's threshold the rig waits for it.
  const peak = chamber === null || settles === null ? null : Math.max(settles, trigger[chamber]!);
  return {
    interval,
    doorsPerDay: ((split.doorsMoving + split.doorsHolding) * 86_400) / interval,
    peak: peak === null ? null : stateAt(model, chamber!, peak),
  };
}
