/**
 * Calibration of a rig by the log of a built one: travels of doors, fraction moved per stroke, discharge and leak of doors, presets and
 * responses of the control; each with the interval that holds the truth 95 times in a hundred and the place in the text it belongs to.
 * What the readings cannot tell is listed with what would tell.
 */
import { modelFlow } from '../flow/flow-model';
import { SHARP_EDGED } from '../flow/nozzle';
import type { Source } from '../model/problem';
import type { Door, Rig, TimeValue } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { formatNumber, formatSi, formatTime } from '../units/units';
import { cutLog, cutStrokes } from './cut-log';
import { fitFlow, type ColumnFit, type FlowFit } from './flow-fit';
import type { FlowTarget } from './flow-forward';
import { lineTimes } from './line-times';
import type { RigLog } from './log';
import { movementsOf, type Movements } from './movements';
import { rampsOf } from './ramps';
import { medianOf, widened, type Estimate } from './statistics';
import { expectedTrace } from './expected';
import { fitTiming } from './timing-fit';
import type { ControlTime } from './timing-model';
import { travelFit } from './travel-fit';

export const FIT_KINDS = ['travel', 'moves', 'discharge', 'leak', 'response', 'presets'] as const;
export type FitKind = (typeof FIT_KINDS)[number];

export interface FittedProperty {
  /** What it is of, its index among those, and its name for people; `control`: a block or the controller. */
  readonly of: 'door' | 'stack' | 'control';
  readonly index: number;
  readonly name: string;
  readonly property: 'opens_in' | 'closes_in' | 'discharge' | 'leak' | 'moves' | 'preset' | 'response';
  /** Times in µs, all else in SI units. */
  readonly fitted: Estimate;
  /** Of the value of a door's opening or leak; null: a share, written in per cent. Absent for times and fractions moved. */
  readonly dimension?: 'none' | 'area' | 'flow_conductance' | null;
  /** What the rig says now; null where nothing. */
  readonly stated: number | null;
  /** The value as a literal of the language. */
  readonly literal: string;
  /** Half of the interval as a literal, for a tolerance in the text. */
  readonly margin: string;
  /** Place of the literal it would replace; null where the property has to be added to the statement at `whole`. */
  readonly at: Source | null;
  readonly whole: Source;
}

export interface Untold {
  readonly name: string;
  readonly property: FittedProperty['property'];
  /** Why, and what would tell. */
  readonly why: string;
}

export interface FitReport {
  readonly properties: readonly FittedProperty[];
  /** What these readings do not determine. */
  readonly untold: readonly Untold[];
  /** Readings of chambers against the fit; empty where no flow was fitted. */
  readonly columns: readonly ColumnFit[];
  /** One sentence on how well the fit meets the readings. */
  readonly verdict: string;
  /** What was left out of the log or assumed. */
  readonly notes: readonly string[];
}

interface Findings {
  readonly properties: FittedProperty[];
  readonly untold: Untold[];
  readonly notes: string[];
}

/**
 * Fits what was requested, or the travels and everything about the flow that the log shows and the rig states. Presets and responses are
 * fitted only where they are asked for.
 */
export function fitRig(facts: RigFacts, log: RigLog, only: readonly FitKind[] = []): FitReport {
  const { rig } = facts;
  const findings: Findings = { properties: [], untold: [], notes: [...log.exclusions] };
  const wants = (kind: FitKind): boolean => only.length === 0 || only.includes(kind);
  if (wants('travel')) travels(rig, log, only.includes('travel'), findings);
  const timing = controlFit(facts, log, only, findings);
  const flow = fitContents(facts, log, only, findings);
  if (findings.properties.length === 0 && findings.untold.length === 0)
    findings.notes.push(
      'The log shows nothing that can be fitted: it needs openings of doors, or readings of chambers at the ends of a stack.',
    );
  return {
    ...findings,
    columns: flow?.columns ?? [],
    verdict: [timing, verdictOf(flow)].filter((v) => v !== '').join(' '),
  };
}

// ---------------------------------------------------------------- travel

function travels(rig: Rig, log: RigLog, isAsked: boolean, { properties, untold }: Findings): void {
  for (const column of log.doors) {
    const { name, opensIn, closesIn, whole } = rig.doors[column.door]!;
    const ramps = rampsOf(log, column);
    for (const opens of [true, false]) {
      const { travel, why } = travelFit(log, column, opens, ramps);
      const property = opens ? 'opens_in' : 'closes_in';
      const stated = opens ? opensIn : closesIn;
      if (!travel) {
        const every = Math.max(1000, (opens ? opensIn : closesIn).nominal / 6);
        if (ramps.length > 0 || isAsked) untold.push({ name, property, why: `${why}; ${wouldTell(stated, every)}` });
        continue;
      }
      const shared = opensIn.at.start === closesIn.at.start && opensIn.at.uri === closesIn.at.uri;
      const literal = timeLiteralOf(travel);
      properties.push({
        of: 'door',
        index: column.door,
        name,
        property,
        fitted: travel,
        stated: stated.nominal,
        literal,
        margin: timeMargin(travel, literal),
        at: shared ? null : stated.at,
        whole,
      });
    }
  }
}

const wouldTell = (stated: TimeValue, every: number): string =>
  stated.nominal > 0
    ? `positions every ${formatTime(Math.round(every / 1000) * 1000)} would tell`
    : 'positions read several times while it moves would tell';

/** Whole milliseconds; tenths where it is known better. */
export function timeLiteralOf({ value, deviation }: Estimate): string {
  const step = deviation < 100 ? 100 : 1000;
  return `${Number((Math.max(step, Math.round(value / step) * step) / 1000).toFixed(1))} ms`;
}

/** Half of the interval, rounded up so that the literal and it still hold the interval. */
export function timeMargin({ value, interval }: Estimate, literal: string): string {
  const at = Number(literal.split(' ')[0]) * 1000;
  const half = Math.max(interval[1] - at, at - interval[0], Math.abs(value - at));
  return `${Number((Math.ceil(half / 100) / 10).toFixed(1))} ms`;
}

// ---------------------------------------------------------------- control

/** Presets and responses, where they are asked for; its verdict. */
function controlFit(facts: RigFacts, log: RigLog, only: readonly FitKind[], findings: Findings): string {
  const kinds = (['presets', 'response'] as const).filter((k) => only.includes(k));
  if (kinds.length === 0) return '';
  const { rig } = facts;
  const { properties, untold, notes } = findings;
  const hasResponse = rig.controller.at !== null || rig.network.elements.some((e) => e.response.nominal > 0);
  if (kinds.includes('response') && rig.controller.style === 'scan')
    untold.push({
      name: 'the controller',
      property: 'response',
      why: 'a scanned controller has a scan and no response, and edges show the scan only as their scatter',
    });
  else if (kinds.includes('response') && !hasResponse)
    untold.push({
      name: 'the controller',
      property: 'response',
      why: 'the rig states none to be fitted; write `controller { response 1 ms }` first',
    });
  const asked = hasResponse && rig.controller.style !== 'scan' ? kinds : kinds.filter((k) => k !== 'response');
  if (asked.length === 0) return '';
  if (log.doors.length + log.states.length === 0) {
    notes.push('Presets and responses are fitted to edges: the log needs columns of doors or signals.');
    return '';
  }
  const found = fitTiming(facts, log, asked);
  if (!found) {
    notes.push('Nothing starts a stroke of this rig, or it has no timer: there is no preset or response to fit.');
    return '';
  }
  if (asked.length === 1 && hasResponse)
    notes.push(asked[0] === 'presets' ? 'Responses are taken as stated.' : 'Presets are taken as stated.');
  if (rig.controller.style === 'scan') notes.push('On a scanned controller a preset is known to one scan at best.');
  for (const { time, estimate, why } of found.fitted) {
    if (!estimate || !time.at) untold.push({ name: time.name, property: time.kind, why });
    else properties.push(controlProperty(time, estimate, properties.length));
  }
  return found.verdict;
}

function controlProperty({ kind, name, stated, at }: ControlTime, fitted: Estimate, index: number): FittedProperty {
  const literal = timeLiteralOf(fitted);
  const margin = timeMargin(fitted, literal);
  return {
    of: 'control',
    index,
    name,
    property: kind,
    fitted,
    stated: stated.nominal,
    literal,
    margin,
    at,
    whole: stated.at,
  };
}

// ---------------------------------------------------------------- contents

function fitContents(facts: RigFacts, log: RigLog, only: readonly FitKind[], findings: Findings): FlowFit | null {
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
  for (const { target, estimate, why } of flow?.fitted ?? []) {
    const places = target.property === 'moves' ? [target.stack] : target.doors;
    for (const index of places) {
      const name = target.property === 'moves' ? stackName(rig, index) : rig.doors[index]!.name;
      if (estimate) findings.properties.push(flowProperty(rig, target, index, name, known(rig, log, target, estimate)));
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
 * Where the log does not show when the doors begin to move, a stroke takes its fraction at some moment within a step, and what the lines
 * bring in meanwhile is not known: as much is added to what the fraction is known to.
 */
function known(rig: Rig, log: RigLog, target: FlowTarget, found: Estimate): Estimate {
  const { model } = modelFlow(rig);
  if (target.property !== 'moves' || !model) return found;
  const own = doorsOf(rig, target.stack);
  const columns = log.doors.filter((c) => own.includes(c.door));
  const seen = columns.filter((c) => !c.isStates).map((c) => rampsOf(log, c).map((r) => r.firm));
  // Most passages show a position on the way: when they began is known.
  if (seen.some((firm) => firm.length > 0 && medianOf(firm) >= 1)) return found;
  const above = rig.stacks[target.stack]!.members[0]!.index;
  const rate = model.lines.reduce((sum, l) => sum + (l.chamber === above ? l.rate : 0), 0);
  const masses = log.readings.find((r) => r.chamber === above && r.sensed === 'mass')?.values;
  const usual = masses ? medianOf([...masses.filter((m) => m > 0)]) : 0;
  if (!(rate > 0) || !(usual > 0)) return found;
  return widened(found, (found.value * rate * (log.step / 1e6)) / Math.sqrt(12) / usual);
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
    const stack = rig.stacks[index]!;
    const margin = percent(0.5 * (fitted.interval[1] - fitted.interval[0]), fitted.deviation);
    const literal = percent(fitted.value, fitted.deviation);
    const at = stack.moves?.at ?? null;
    return {
      of: 'stack',
      index,
      name,
      property: 'moves',
      fitted,
      stated: stack.moves?.nominal ?? null,
      literal,
      margin,
      at,
      whole: stack.whole,
    };
  }
  const door = rig.doors[index]!;
  const stated = target.property === 'discharge' ? door.discharge : (door.leak?.value ?? null);
  const half = 0.5 * (fitted.interval[1] - fitted.interval[0]);
  const dimension = dimensionOf(door, target.property);
  const text = (v: number): string =>
    dimension ? (dimension === 'none' ? digits(v) : openingText(v, dimension)) : percent(v, fitted.deviation);
  const digits = (v: number): string => String(Number(v.toFixed(decimalsFor(fitted.deviation))));
  return {
    of: 'door',
    index,
    name,
    property: target.property,
    dimension,
    fitted,
    stated: stated?.nominal ?? null,
    literal: text(fitted.value),
    margin: text(half),
    at: stated?.at ?? null,
    whole: door.whole,
  };
}

/** An area or a conductance as a literal of the language. 1 L/s/bar is 1e-8 m3/s/Pa. */
export const openingText = (value: number, dimension: 'area' | 'flow_conductance'): string =>
  dimension === 'area' ? formatSi(value, dimension) : `${formatNumber(value * 1e8)} L/s/bar`;

/** Of a value as its door states it; null: a share, written in per cent. */
function dimensionOf(door: Door, property: 'discharge' | 'leak'): FittedProperty['dimension'] {
  if (property === 'discharge') return 'none';
  const kind = door.leak?.kind ?? 'share';
  return kind === 'share' ? null : kind === 'area' ? 'area' : 'flow_conductance';
}

/** Decimals down to a tenth of the deviation: three at least, six at most. */
const decimalsFor = (deviation: number): number =>
  Math.min(6, Math.max(3, deviation > 0 ? Math.ceil(1 - Math.log10(deviation)) : 6));

const percent = (share: number, deviation: number): string =>
  `${Number((share * 100).toFixed(Math.max(2, decimalsFor(deviation) - 2)))} %`;

// ---------------------------------------------------------------- verdict

function verdictOf(flow: FlowFit | null): string {
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
