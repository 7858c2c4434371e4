/** Guaranteed and likely windows, and what each requirement can stand, as text that a person reads and as plain data. */
import type { Requirement } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { startOptions } from '../run/analyse';
import {
  onStrokes,
  standings,
  type Standing,
  type StandingOptions,
  type ToleranceState,
} from '../metrics/within-tolerance';
import { evaluateRequirement } from '../metrics/evaluate';
import { edgeName, strokeMeasures, type DoorEdge } from '../timing/tolerance-measures';
import type { TimingFacts } from '../timing/facts';
import { guaranteedRanges } from '../timing/guarantee';
import { looseTimes, monteCarlo, type Likely, type MeasureRange } from '../timing/tolerance';
import type { CommonTolerance } from '../timing/tolerance-limits';
import type { DimensionName } from '../units/dimensions';
import { WorkBudget } from '../model/budget';
import { formatAlike, formatTime } from '../units/units';
import { textTable } from './text-table';

export interface ToleranceStudy {
  readonly facts: RigFacts;
  readonly ranges: ReadonlyMap<string, MeasureRange>;
  readonly likely: ReadonlyMap<string, Likely>;
  readonly standings: readonly Standing[];
  readonly samples: number;
  /** Largest common tolerance tried, in parts of 1. */
  readonly most: number;
  /** Requirements that were still to come when the study was stopped. */
  readonly left: readonly Requirement[];
  /** Whether the rig has times with a tolerance. */
  readonly loose: boolean;
  /** Why the study ended before all was examined; null where it did not. */
  readonly ended: 'time' | 'work' | null;
}

/** Steps of the engine that a study may cost: half a minute or so. */
const MOST_STEPS = 200_000;

class Ended extends Error {}

/**
 * Computes everything, thousands of runs of the event engine. `isOver` is asked at every step of the engine; where it holds, or the
 * study would cost more than `most` steps, it ends there, and what was not reached is named in the study.
 */
export function studyTolerance(
  facts: RigFacts,
  options: StandingOptions,
  isOver: () => boolean = () => false,
  most = MOST_STEPS,
): ToleranceStudy {
  const { rig } = facts;
  const work = new WorkBudget(most);
  let ended: ToleranceStudy['ended'] = null;
  const whenWorked = (steps: number): void => {
    if (isOver()) ended = 'time';
    else if (!work.spend(steps)) ended = 'work';
    if (ended) throw new Ended();
  };
  /** What is computed, or what there is instead once the study has ended. */
  const unlessEnded = <T>(compute: () => T, instead: T): T => {
    if (ended) return instead;
    try {
      return compute();
    } catch (error) {
      if (error instanceof Ended) return instead;
      throw error;
    }
  };
  const loose = looseTimes(rig).length > 0;
  const start = { ...startOptions(rig), whenWorked };
  const nothing = { doors: [], nets: [] };
  const orders = { orders: options.runs, verify: false, steps: most };
  const ranges = unlessEnded(
    () => (loose ? guaranteedRanges(rig, edgeMeasures, nothing, orders, start) : NO_RANGES),
    NO_RANGES,
  );
  const drawn = { samples: options.samples, random: options.random };
  const likely = unlessEnded(
    () => (loose ? monteCarlo(rig, edgeMeasures, drawn.samples, drawn.random, start) : NO_LIKELY),
    NO_LIKELY,
  );
  const found: Standing[] = [];
  const steps = standings(facts, { ...options, whenWorked });
  unlessEnded(() => {
    for (const standing of steps) found.push(standing);
  }, undefined);
  const done = new Set(found.map((s) => s.requirement));
  const left = onStrokes(facts).filter((r) => !done.has(r));
  return { facts, ranges, likely, standings: found, samples: options.samples, most: options.most, left, loose, ended };
}

const NO_RANGES: ReadonlyMap<string, MeasureRange> = new Map();
const NO_LIKELY: ReadonlyMap<string, Likely> = new Map();

/** That a study ended before all was examined, in one sentence; null where it did not. */
export function endOfStudy({ facts, ended }: ToleranceStudy): string | null {
  if (ended === null) return null;
  const why =
    ended === 'time'
      ? 'its time was over (a larger --seconds gives more)'
      : `it would cost more than ${MOST_STEPS} steps of the engine (fewer --samples or --runs reach further)`;
  return `Not all of ${facts.rig.name} was examined within tolerance: ${why}.`;
}

/** The edges of every door window alone: each is one moment, whatever else happens in what order. */
function edgeMeasures(facts: TimingFacts): Map<string, number> {
  return new Map([...strokeMeasures(facts)].filter(([name]) => EDGE_NAME.test(name)));
}

const EDGE_NAME = /\/(opens|opened|closes|shuts)$/;

export function toleranceReport(study: ToleranceStudy, seed: number): string[] {
  const { rig } = study.facts;
  const lines = [rig.title ? `${rig.name}: ${rig.title}` : rig.name];
  if (study.loose && study.ranges.size === 0) lines.push('', '  not reached: the windows of the doors');
  else if (!study.loose)
    lines.push('', '  No time of this rig has a tolerance (+-, timer_accuracy, a range of response).');
  else
    lines.push(
      '',
      ...windowTable(study),
      '',
      study.likely.size === 0 && study.ended
        ? '  not reached: the likely windows'
        : `  Likely: the middle 95 % of ${study.samples} runs with every time drawn evenly from its range, seed ${seed}.`,
    );
  for (const standing of study.standings) lines.push('', ...standingLines(study, standing));
  if (study.left.length > 0) lines.push('', ...study.left.map(({ text }) => `  not reached: ${text}`));
  const without = passedOver(study);
  if (without.length > 0)
    lines.push('', ...without.map(({ text, why }) => `  not examined within tolerance: ${text}: ${why}`));
  return lines;
}

/** Requirements that tolerances say nothing of, and why. */
function passedOver({ facts, standings: found, left }: ToleranceStudy): { text: string; why: string }[] {
  const seen = new Set([...found.map(({ requirement }) => requirement), ...left]);
  return facts.rig.requirements
    .filter((requirement) => !seen.has(requirement))
    .map((requirement) => ({ text: requirement.text, why: whyPassedOver(facts, requirement) }));
}

function whyPassedOver(facts: RigFacts, requirement: Requirement): string {
  const { state } = evaluateRequirement(facts, requirement);
  if (state === 'failed') return 'it does not hold at nominal times';
  if (state !== 'met') return 'it is not decided at nominal times';
  return requirement.during === null
    ? 'it is about contents, which are computed at nominal times'
    : 'it is asked of a scenario, which is run with nominal times';
}

const EDGES: readonly [DoorEdge, string][] = [
  ['opens', 'leaves shut'],
  ['opened', 'fully open'],
  ['closes', 'starts to close'],
  ['shuts', 'shut'],
];

function windowTable({ facts, ranges, likely }: ToleranceStudy): string[] {
  const rows = [['door', 'edge', 'nominal', 'guaranteed', 'likely', '']];
  facts.timing.strokes.forEach((stroke, s) => {
    for (const { door, windows } of stroke.doors) {
      windows.forEach((_, w) => {
        for (const [edge, words] of EDGES) {
          const name = edgeName(s, door, w, edge);
          const range = ranges.get(name);
          if (range)
            rows.push([
              edge === 'opens' ? facts.rig.doors[door]!.name : '',
              words,
              ...rangeCells(range, likely.get(name)),
            ]);
        }
      });
    }
  });
  return textTable(rows, ['left', 'left', 'right', 'right', 'right', 'left']);
}

function rangeCells(range: MeasureRange, likely: Likely | undefined): string[] {
  const span = (low: number, high: number): string => `${formatTime(low)} to ${formatTime(high)}`;
  const order = range.additive ? '' : 'order of events changes';
  const note = !range.guaranteed ? 'not guaranteed' : range.mayBeAbsent ? 'may not happen' : order;
  return [
    range.nominal === null ? 'none' : formatTime(range.nominal),
    span(range.min, range.max),
    likely ? span(toMillisecond(likely.low), toMillisecond(likely.high)) : '',
    note,
  ];
}

/** Drawn values are no more certain than that. */
const toMillisecond = (t: number): number => Math.round(t / 1000) * 1000;

function standingLines({ facts, most }: ToleranceStudy, standing: Standing): string[] {
  const { requirement, within, common, likely } = standing;
  const { found } = evaluateRequirement(facts, requirement);
  const range = within?.range ? `, within tolerance ${rangeText(requirement, within.range)}` : '';
  const lines = [`  ${requirement.text}: ${found}${range}${within ? `: ${STATE_TEXT[within.state]}` : ''}`];
  if (likely) {
    const percent = (share: number): string => `${(share * 100).toFixed(2)} %`;
    lines.push(
      `    holds in ${likely.met} of ${likely.samples} runs: between ${percent(likely.low)} and ${percent(likely.high)} of all (95 % confidence)`,
    );
  }
  if (common) lines.push(`    ${commonText(common, most)}`);
  return [...lines, `    ${breaksText(standing)}`];
}

const STATE_TEXT: Readonly<Record<ToleranceState, string>> = {
  kept: 'kept for every value',
  broken: 'broken',
  unclear: 'may not happen',
  'not-guaranteed': 'not guaranteed: no failure found, but there are more orders of events than were examined',
};

function rangeText({ comparison }: Requirement, { min, max }: MeasureRange): string {
  const dimension = (comparison?.dimension ?? 'time') as DimensionName;
  const text = formatAlike([min, max], dimension);
  return `${text(min)} to ${text(max)}`;
}

function commonText({ share, exact }: CommonTolerance, most: number): string {
  if (share >= most) return `holds with every time off by up to ${100 * most} %, the most that is examined`;
  const text = `holds with every time off by up to ${(share * 100).toFixed(2)} %`;
  return exact ? text : `${text}, perhaps more: the budget of runs ends there`;
}

function breaksText({ breaks, breaksComplete, breaksSampled }: Standing): string {
  const [first, ...others] = breaks;
  const cut = `${breaksComplete ? '' : ' (the search ended early: a smaller change may break it)'}${sampledText(breaksSampled)}`;
  if (!first) return `no single time breaks it within the range examined${cut}`;
  const words = (b: typeof first): string =>
    `${b.parameter.name} ${b.change > 0 ? 'longer' : 'shorter'} by ${formatTime(Math.abs(b.change))}`;
  return `breaks first: ${words(first)}${others.length > 0 ? `; then ${others.map(words).join('; ')}` : ''}${cut}`;
}

/** Where a door turns round half way, its moments are not sums of times and only samples are looked at. */
function sampledText(sampled: Standing['breaksSampled']): string {
  const one = ({ parameter, change }: (typeof sampled)[number]): string =>
    `; ${parameter.name} ${change > 0 ? 'longer' : 'shorter'} by ${formatTime(Math.abs(change))} or more was only sampled`;
  return sampled.map(one).join('');
}

/** Seconds. */
export function toleranceJson(study: ToleranceStudy): object {
  const { facts, ranges, likely, standings: found } = study;
  const { rig } = facts;
  const span = (name: string): object | null => {
    const range = ranges.get(name);
    const l = likely.get(name);
    return range
      ? {
          nominal: range.nominal === null ? null : range.nominal / 1e6,
          guaranteed: range.guaranteed ? [range.min / 1e6, range.max / 1e6] : null,
          found: [range.min / 1e6, range.max / 1e6],
          likely: l ? [l.low / 1e6, l.high / 1e6] : null,
        }
      : null;
  };
  return {
    name: rig.name,
    triggers: facts.timing.strokes.map((stroke, s) => ({
      sensor: stroke.trigger.name,
      doors: stroke.doors.map(({ door, windows }) => ({
        name: rig.doors[door]!.name,
        windows: windows.map((_, w) =>
          Object.fromEntries(EDGES.map(([edge]) => [edge, span(edgeName(s, door, w, edge))])),
        ),
      })),
    })),
    requirements: found.map(
      ({ requirement, within, breaks, breaksComplete, breaksSampled, common, likely: share }) => ({
        text: requirement.text,
        within: within?.state ?? null,
        range: within?.range ? siRange(requirement, within.range) : null,
        common: common?.share ?? null,
        commonIsExact: common?.exact ?? null,
        likely: share,
        breaks: breaks.map((b) => ({ time: b.parameter.name, change: b.change / 1e6 })),
        breaksComplete,
        breaksSampled: breaksSampled.map((b) => ({ time: b.parameter.name, from: b.change / 1e6 })),
      }),
    ),
    notReached: study.left.map((r) => r.text),
    notLookedAt: passedOver(study),
  };
}

function siRange({ comparison }: Requirement, { min, max }: MeasureRange): number[] {
  const unit = comparison?.dimension === 'time' ? 1e6 : 1;
  return [min / unit, max / unit];
}
