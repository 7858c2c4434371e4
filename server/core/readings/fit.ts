/**
 * Calibration of a rig by the log of a built one: travels of doors, fraction moved per stroke, discharge and leak of doors, presets and
 * responses of the control; each with the interval that holds the truth 95 times in a hundred and the place in the text it belongs to.
 * What the readings cannot tell is listed with what would tell.
 */
import type { Source } from '../model/problem';
import type { Rig, TimeValue } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { formatTime } from '../units/units';
import { withPlaces } from './change-place';
import { fitContents, verdictOf } from './fit-contents';
import { type ColumnFit } from './flow-fit';
import type { RigLog } from './log';
import { rampsOf } from './ramps';
import { type Estimate } from './statistics';
import { stimulusOf } from './stimulus';
import { fitTiming } from './timing-fit';
import type { ControlTime } from './timing-model';
import { travelFit } from './travel-fit';
import { noStroke } from '../timing/no-stroke';

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

/** What fitting collects, part by part. */
export interface Findings {
  readonly properties: FittedProperty[];
  readonly untold: Untold[];
  readonly notes: string[];
}

/**
 * Fits what was requested, or the travels and everything about the flow that the log shows and the rig states. Presets and responses are
 * fitted only where they are asked for.
 */
export function fitRig(facts: RigFacts, read: RigLog, only: readonly FitKind[] = []): FitReport {
  const { rig } = facts;
  const stimulus = stimulusOf(rig, facts.timing, read, null);
  const log = stimulus ? withPlaces(facts, read, stimulus) : read;
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
    const none = 'Nothing starts a stroke of this rig, or it has no timer: there is no preset or response to fit.';
    notes.push(noStroke(rig.name, facts.timing, none));
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
