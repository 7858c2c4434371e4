/** Guaranteed and likely windows, and what each requirement can stand, as text that a person reads and as plain data. */
import type { Requirement } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { startOptions } from '../run/analyse';
import { withinTolerance, standings, type Standing, type StandingOptions } from '../metrics/within-tolerance';
import { evaluateRequirement } from '../metrics/evaluate';
import { edgeName, strokeMeasures, type DoorEdge } from '../timing/tolerance-measures';
import { looseTimes, monteCarlo, worstCase, type Likely, type MeasureRange } from '../timing/tolerance';
import { formatTime } from '../units/units';
import { textTable } from './text-table';

export interface ToleranceStudy {
  readonly facts: RigFacts;
  readonly ranges: ReadonlyMap<string, MeasureRange>;
  readonly likely: ReadonlyMap<string, Likely>;
  readonly standings: readonly Standing[];
  readonly samples: number;
  /** Largest common tolerance tried, in parts of 1. */
  readonly most: number;
}

/** Works everything out; costs thousands of runs of the event engine. */
export function studyTolerance(facts: RigFacts, options: StandingOptions): ToleranceStudy {
  const { rig } = facts;
  const loose = looseTimes(rig).length > 0;
  const start = startOptions(rig);
  return {
    facts,
    ranges: loose ? worstCase(rig, strokeMeasures, start) : new Map(),
    likely: loose ? monteCarlo(rig, strokeMeasures, options.samples, options.random, start) : new Map(),
    standings: standings(facts, options),
    samples: options.samples,
    most: options.most,
  };
}

export function toleranceReport(study: ToleranceStudy, seed: number): string[] {
  const { rig } = study.facts;
  const lines = [rig.title ? `${rig.name}: ${rig.title}` : rig.name];
  if (study.ranges.size === 0)
    lines.push('', '  No time of this rig has a tolerance (+-, timer_accuracy, a range of response).');
  else
    lines.push(
      '',
      ...windowTable(study),
      '',
      `  Likely: the middle 95 % of ${study.samples} runs with every time drawn evenly from its range, seed ${seed}.`,
    );
  for (const standing of study.standings) lines.push('', ...standingLines(study, standing));
  const without = passedOver(study);
  if (without.length > 0)
    lines.push('', ...without.map(({ text, why }) => `  not looked at within tolerance: ${text}: ${why}`));
  return lines;
}

/** Requirements that tolerances say nothing of, and why. */
function passedOver({ facts, standings: found }: ToleranceStudy): { text: string; why: string }[] {
  const seen = new Set(found.map(({ requirement }) => requirement));
  return facts.rig.requirements
    .filter((requirement) => !seen.has(requirement))
    .map((requirement) => ({ text: requirement.text, why: whyPassedOver(facts, requirement) }));
}

function whyPassedOver(facts: RigFacts, requirement: Requirement): string {
  const { state } = evaluateRequirement(facts, requirement);
  if (state === 'failed') return 'it does not hold at nominal times';
  if (state !== 'met') return 'it is not decided at nominal times';
  return requirement.during === null
    ? 'it is about contents, which are worked out with nominal times'
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
  const note = range.mayBeAbsent ? 'may not happen' : range.additive ? '' : 'order of events changes';
  return [
    range.nominal === null ? 'none' : formatTime(range.nominal),
    span(range.min, range.max),
    likely ? span(toMillisecond(likely.low), toMillisecond(likely.high)) : '',
    note,
  ];
}

/** Drawn values are no more certain than that. */
const toMillisecond = (t: number): number => Math.round(t / 1000) * 1000;

function standingLines({ facts, most }: ToleranceStudy, { requirement, breaks, common, likely }: Standing): string[] {
  const within = withinTolerance(facts).get(requirement);
  const { found } = evaluateRequirement(facts, requirement);
  const range = within?.range
    ? `, within tolerance ${formatTime(within.range.min)} to ${formatTime(within.range.max)}`
    : '';
  const lines = [`  ${requirement.text}: ${found}${range}${within ? `: ${within.state}` : ''}`];
  if (likely) {
    const percent = (share: number): string => `${(share * 100).toFixed(2)} %`;
    lines.push(
      `    holds in ${likely.met} of ${likely.samples} runs: between ${percent(likely.low)} and ${percent(likely.high)} of all (95 % confidence)`,
    );
  }
  if (common !== null)
    lines.push(
      common >= most
        ? `    stands ${100 * most} % on all times together, the most looked at`
        : `    stands ${(Math.floor(common * 10_000) / 100).toFixed(2)} % on all times together`,
    );
  const [first, ...others] = breaks.slice(0, 3);
  if (!first) return [...lines, '    no single time breaks it within the reach looked at'];
  const words = (b: typeof first): string =>
    `${b.parameter.name} ${b.change > 0 ? 'longer' : 'shorter'} by ${formatTime(Math.abs(b.change))}`;
  lines.push(`    breaks first: ${words(first)}${others.length > 0 ? `; then ${others.map(words).join('; ')}` : ''}`);
  return lines;
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
          guaranteed: [range.min / 1e6, range.max / 1e6],
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
    requirements: found.map(({ requirement, breaks, common, likely: share }) => ({
      text: requirement.text,
      within: withinTolerance(facts).get(requirement)?.state ?? null,
      common,
      likely: share,
      breaks: breaks.map((b) => ({ time: b.parameter.name, change: b.change / 1e6 })),
    })),
    notLookedAt: passedOver(study),
  };
}
