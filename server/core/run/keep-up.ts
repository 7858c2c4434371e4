/** Whether strokes keep up with the feed: as the rig is followed by itself. */
import type { KeepUp } from '../flow/facts';
import { lineMass } from '../flow/lines';
import { massAt } from '../flow/vessel';
import type { StrokeContext } from './stroke-context';
import { fedChamber, strokeAt, withMass } from './stroke-context';

export function keepUpOf(context: StrokeContext): KeepUp | null {
  const { rig, model, trigger, interval } = context;
  const chamber = fedChamber(context);
  if (chamber === null || interval === null) return null;
  const { limit } = rig.chambers[chamber]!;
  const vessel = model.vessels[chamber]!;
  const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
  const mass = most ?? trigger[chamber]!;
  const feed = feedAt(context, chamber, mass);
  if (!(feed > 0)) return null;
  const filling = context.filling();
  // The others as they stand when the run brings the chamber to its limit: a full store takes less.
  const others = filling?.overLimit[chamber]?.mass ?? trigger;
  const stroke = strokeAt(context, withMass(others, chamber, mass));
  if (stroke.doubt !== null) {
    context.withhold('what strokes can take away', stroke.doubt);
    return null;
  }
  const taken = -stroke.gains[chamber]!;
  return {
    chamber,
    feed,
    capacity: taken / interval,
    at: most !== null ? 'limit' : mass === model.start[chamber] ? 'start' : 'threshold',
    keeps: filling ? keepsIn(filling, chamber) : null,
    longestInterval: taken / feed,
    settlesAt: filling && !filling.rising.includes(chamber) ? filling.highest[chamber]! : null,
  };
}

/** Kept where the followed run came to an end of its own with the chamber below its limit and nothing that goes on feeding it. */
function keepsIn(
  { overLimit, rising, ended }: NonNullable<ReturnType<StrokeContext['filling']>>,
  chamber: number,
): boolean | null {
  if (overLimit[chamber] || rising.includes(chamber)) return false;
  return ended === 'steady' || ended === 'stopped' || ended === 'round' ? true : null;
}

/**
 * kg/s that feeds (less draws) bring to a chamber that holds `mass`, as long as it does: conditions as they stand there, lines that
 * are driven for the part of the stroke's interval in which they are on.
 */
function feedAt({ model, pattern }: StrokeContext, chamber: number, mass: number): number {
  const vessel = model.vessels[chamber]!;
  const contents = {
    mass: Float64Array.from(model.vessels, (_, k) => (k === chamber ? mass : 0)),
    temperature: Float64Array.from(model.vessels, (v) => v.temperature),
  };
  return model.lines.reduce((sum, line, k) => {
    if (line.chamber !== chamber) return sum;
    const on = (pattern.lines[k] ?? []).reduce((time, [from, to]) => time + (to - from), 0) / pattern.duration;
    const instant = 1e-6;
    return sum + (on * lineMass(line, instant, model.law, vessel, contents)) / instant;
  }, 0);
}
