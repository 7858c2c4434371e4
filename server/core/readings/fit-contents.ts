/** What moves through the doors, fitted to readings of chambers: fraction moved, discharge, leak; and how well the fit meets them. */
import { modelFlow } from '../flow/flow-model';
import { SHARP_EDGED } from '../flow/nozzle';
import type { Door, Quantity, Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { formatTime } from '../units/units';
import { cutLog, cutStrokes } from './cut-log';
import { figureLiteral, figureMargin } from './fit-literals';
import { fitFlow, type FlowFit } from './flow-fit';
import type { FlowTarget } from './flow-forward';
import { lineTimes } from './line-times';
import type { RigLog } from './log';
import type { Falls } from './move-moments';
import { movementsOf, type Movements } from './movements';
import { rampsOf } from './ramps';
import { medianOf, widened, type Estimate } from './statistics';
import { expectedTrace } from './expected';
import type { Findings, FitKind, FittedProperty, Untold } from './fit';

/** Fits what the readings of chambers tell; adds to the findings. Null where nothing is fitted. */
export function fitContents(
  facts: RigFacts,
  log: RigLog,
  only: readonly FitKind[],
  findings: Findings,
): FlowFit | null {
  const { rig } = facts;
  const targets = targetsOf(rig, log, only, findings);
  if (targets.length === 0) return null;
  if (log.gaps.length > 0) {
    findings.notes.push('What moves through the doors is fitted up to the first gap only.');
    log = cutLog(log, log.gaps[0]!.from);
  }
  const long = cutStrokes(rig, log);
  if (long !== log)
    findings.notes.push(
      `What moves through the doors is fitted to the first ${formatTime(long.times.at(-1)! - long.times[0]!)} of the log.`,
    );
  log = long;
  const movements = movementsIn(facts, log, targets, findings);
  if (!movements) return null;
  const seen = targets.filter(
    (t) => t.property === 'moves' || t.property === 'leak' || doorsAreSeen(rig, log, t, findings),
  );
  const flow = fitFlow(rig, log, movements, seen, lineTimes(facts, log));
  const { fitted, falls } = flow ?? { fitted: [], falls: new Map<number, Falls>() };
  for (const { target, estimate, why } of fitted) {
    const places = target.property === 'moves' ? [target.stack] : target.doors;
    for (const index of places) {
      const name = target.property === 'moves' ? stackName(rig, index) : rig.doors[index]!.name;
      if (estimate)
        findings.properties.push(flowProperty(rig, target, index, name, known(rig, log, target, estimate, falls)));
      else findings.untold.push({ name, property: target.property, why });
    }
  }
  return flow;
}

/** Flow through openings can be computed only where the log shows when the doors move. */
function doorsAreSeen(rig: Rig, log: RigLog, target: FlowTarget, { untold }: Findings): boolean {
  const blind = log.doors.filter((column) => {
    const { opensIn, closesIn } = rig.doors[column.door]!;
    return (
      log.step > 0.75 * Math.max(opensIn.nominal, closesIn.nominal) && rampsOf(log, column).every((r) => r.firm < 2)
    );
  });
  if (blind.length === 0 || target.property === 'moves') return true;
  for (const k of target.doors)
    untold.push({
      name: rig.doors[k]!.name,
      property: target.property,
      why: `readings every ${formatTime(log.step)} do not show when the doors move; readings at least three times in each travel would tell`,
    });
  return false;
}

/**
 * Where the log does not show when a stroke takes its fraction (the doors are not seen to begin, or the contents fall at no movement of
 * theirs), it does so at some moment within a step, and what the lines bring in meanwhile is not known: as much is added to what the fraction
 * is known to. A log and a rig with one clock put every stroke at the same place within its step: more strokes do not tell more.
 */
function known(rig: Rig, log: RigLog, target: FlowTarget, found: Estimate, falls: FlowFit['falls']): Estimate {
  const { model } = modelFlow(rig);
  if (target.property !== 'moves' || !model) return found;
  const own = doorsOf(rig, target.stack);
  const columns = log.doors.filter((c) => own.includes(c.door));
  const seen = columns.filter((c) => !c.isStates).map((c) => rampsOf(log, c).map((r) => r.firm));
  // Most passages show a position on the way: when they began is known.
  const isSeen = seen.some((firm) => firm.length > 0 && medianOf(firm) >= 1);
  const { moments = [], loose = 0 } = falls.get(own[0]!) ?? {};
  const part = isSeen ? loose : 1;
  const above = rig.stacks[target.stack]!.members[0]!.index;
  const rate = model.lines.reduce((sum, l) => sum + (l.chamber === above ? l.rate : 0), 0);
  const masses = log.readings.find((r) => r.chamber === above && r.sensed === 'mass')?.values;
  // What was read last before each fall.
  const before = moments.map((t) => masses?.[log.times.findIndex((at) => at - log.times[0]! >= t) - 1] ?? NaN);
  const usual = medianOf(before.filter((m) => m > 0));
  if (!(rate > 0) || !(usual > 0)) return found;
  return widened(found, (part * found.value * rate * 0.5 * (log.step / 1e6)) / usual);
}

function movementsIn(
  facts: RigFacts,
  log: RigLog,
  targets: readonly FlowTarget[],
  { notes }: Findings,
): Movements | null {
  const { rig } = facts;
  const missing = rig.doors.some((_, k) => !log.doors.some((c) => c.door === k));
  const expected = missing ? expectedTrace(facts, log) : null;
  const movements = movementsOf(rig, log, expected, stillDoors(rig, log, targets));
  if (!movements) {
    notes.push('What moves through the doors needs the opening of every door: a column each in the log.');
    return null;
  }
  if (movements.assumed.length > 0) {
    const names = movements.assumed.map((k) => `\`${rig.doors[k]!.name}\``).join(', ');
    notes.push(`The log has no column for ${names}: assumed to move as the rig says.`);
  }
  return movements;
}

/** Doors of measured stacks in which another door was logged: the fraction is moved without them. */
function stillDoors(rig: Rig, log: RigLog, targets: readonly FlowTarget[]): Set<number> {
  const stacks = targets.flatMap((t) => (t.property === 'moves' ? [doorsOf(rig, t.stack)] : []));
  return new Set(stacks.filter((own) => own.some((d) => log.doors.some((c) => c.door === d))).flat());
}

export const stackName = (rig: Rig, index: number): string => {
  const ends = [rig.stacks[index]!.members[0], rig.stacks[index]!.members.at(-1)];
  return ends.map((m) => (m?.kind === 'chamber' ? rig.chambers[m.index]!.name : '?')).join(' > ');
};

/** What of the flow is fitted: what the rig states, or what was requested. */
function targetsOf(rig: Rig, log: RigLog, only: readonly FitKind[], { untold }: Findings): FlowTarget[] {
  const { model } = modelFlow(rig);
  const wants = (kind: FitKind): boolean => only.length === 0 || only.includes(kind);
  const targets: FlowTarget[] = [];
  if (wants('moves')) targets.push(...moveTargets(rig, log, only.includes('moves'), untold));
  const measured = new Set(targets.flatMap((t) => (t.property === 'moves' ? doorsOf(rig, t.stack) : [])));
  const flowing = rig.doors
    .map((_, k) => k)
    .filter((k) => !measured.has(k) && rig.stacks.some((s, i) => !s.moves && doorsOf(rig, i).includes(k)));
  const isGas = model !== null && model.law.phase !== 'packed';
  if (wants('discharge') && isGas && log.readings.length > 0) {
    const sized = flowing.filter((k) => rig.doors[k]!.area !== null);
    targets.push(...groupsOf(sized, (k) => rig.doors[k]!.discharge?.nominal ?? SHARP_EDGED, 'discharge'));
    if (only.includes('discharge') && sized.length === 0)
      untold.push({
        name: rig.name,
        property: 'discharge',
        why: 'no door that it flows through states a bore or an area',
      });
  }
  if ((only.includes('leak') || (only.length === 0 && rig.doors.some((d) => d.leak))) && isGas) {
    const leaky = flowing.filter((k) => only.includes('leak') || rig.doors[k]!.leak);
    targets.push(...groupsOf(leaky, (k) => rig.doors[k]!.leak?.value.nominal ?? 0, 'leak'));
  }
  return log.readings.length > 0 ? targets : [];
}

function moveTargets(rig: Rig, log: RigLog, isAsked: boolean, untold: Untold[]): FlowTarget[] {
  return rig.stacks.flatMap((stack, index): FlowTarget[] => {
    // Where the rig's flow is physics, a fraction would switch it off.
    if (!stack.moves && rig.medium?.phase !== 'packed' && !isAsked) return [];
    const ends = [stack.members[0], stack.members.at(-1)];
    if (ends.some((m) => m?.kind !== 'chamber')) return [];
    const read = log.readings.some((r) => ends.some((m) => m!.index === r.chamber));
    if (read) return [{ property: 'moves', stack: index }];
    if (isAsked)
      untold.push({
        name: stackName(rig, index),
        property: 'moves',
        why: 'neither end of the stack was read; a column with its mass would tell',
      });
    return [];
  });
}

const doorsOf = (rig: Rig, stack: number): number[] =>
  rig.stacks[stack]!.members.filter((m) => m.kind === 'door').map((m) => m.index);

/** Doors that state the same share one figure. */
function groupsOf(
  doors: readonly number[],
  key: (door: number) => number,
  property: 'discharge' | 'leak',
): FlowTarget[] {
  const groups = new Map<number, number[]>();
  for (const door of doors) groups.set(key(door), [...(groups.get(key(door)) ?? []), door]);
  return [...groups.values()].map((own) => ({ property, doors: own }));
}

function flowProperty(rig: Rig, target: FlowTarget, index: number, name: string, fitted: Estimate): FittedProperty {
  if (target.property === 'moves') {
    const { moves, whole } = rig.stacks[index]!;
    return { of: 'stack', index, name, property: 'moves', ...figureOf(fitted, moves, null), whole };
  }
  const door = rig.doors[index]!;
  const stated = target.property === 'discharge' ? door.discharge : (door.leak?.value ?? null);
  const dimension = dimensionOf(door, target.property);
  const { property } = target;
  return { of: 'door', index, name, property, dimension, ...figureOf(fitted, stated, dimension), whole: door.whole };
}

function figureOf(fitted: Estimate, stated: Quantity | null, dimension: FittedProperty['dimension']) {
  const kind = dimension ?? 'share';
  const literal = figureLiteral(fitted, kind);
  return {
    fitted,
    stated: stated?.nominal ?? null,
    literal,
    margin: figureMargin(fitted, literal, kind),
    at: stated?.at ?? null,
  };
}

/** Of a value as its door states it; null: a share, written in per cent. */
function dimensionOf(door: Door, property: 'discharge' | 'leak'): FittedProperty['dimension'] {
  if (property === 'discharge') return 'none';
  const kind = door.leak?.kind ?? 'share';
  return kind === 'share' ? null : kind === 'area' ? 'area' : 'flow_conductance';
}

// ---------------------------------------------------------------- verdict

/** How well the fit meets the readings, in one sentence; empty where there is none. */
export function verdictOf(flow: FlowFit | null): string {
  if (!flow || flow.columns.length === 0) return '';
  const worst = [...flow.columns].sort((a, b) => b.rms / b.noise - a.rms / a.noise)[0]!;
  const { column } = worst;
  const off = worst.points.reduce((m, p) =>
    Math.abs(p.measured - p.fitted) > Math.abs(m.measured - m.fitted) ? p : m,
  );
  const { points } = worst;
  const values = points.map((p) => p.measured);
  const range = values.reduce((a, b) => Math.max(a, b)) - values.reduce((a, b) => Math.min(a, b));
  if (trend(flow) > 0.35 && worst.rms < 0.002 * range)
    return 'The fit explains the readings to a five-hundredth of their range; what is left follows a pattern that small.';
  return trend(flow) <= 0.35
    ? 'The fit explains the readings: what is left scatters without a pattern.'
    : `The fit does not explain all readings: what is left follows a pattern, most in \`${column.heading}\` (at ${formatTime(off.t)}); the rig as written leaves something out.`;
}

/** Correlation of residuals with those after them: near zero for noise. */
function trend({ columns }: FlowFit): number {
  return Math.max(
    ...columns.map(({ points }) => {
      const r = points.map((p) => p.measured - p.fitted);
      const square = r.reduce((s, v) => s + v * v, 0);
      const product = r.slice(1).reduce((s, v, k) => s + v * r[k]!, 0);
      return square > 0 ? product / square : 0;
    }),
  );
}
