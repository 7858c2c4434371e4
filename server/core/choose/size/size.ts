/**
 * Sizing for a target ("store 6 bar in 20 min"): for each interval between strokes that keeps what is required about time, the least feed
 * and the smallest pockets (with openings in proportion) that fill the chamber in time. Every row is followed by the flow engine with the
 * rounded figures it shows; where nothing does it, the answer says what stands in the way.
 */
import { evaluateRequirement } from '../../metrics/evaluate';
import { metricNamed } from '../../metrics/registry';
import type { Requirement, Rig } from '../../model/rig';
import { levelOf } from '../../flow/engine';
import { unitsNeeded } from '../../flow/sizing';
import { formatCount } from '../../units/units';
import { massRate } from '../../flow/lines';
import { flowRun } from '../../run/flow-run';
import { analysisOf } from '../../run/analyse';
import type { RigFacts } from '../../run/facts';
import { atMost, patiently, type Work } from '../../work/work';
import type { IntervalScrew, SizeChoice } from './choice';
import { rigWithChoice } from './choice';
import { intervalScrew, sameOpenings } from './interval';
import { LARGEST, leastPocket, secondsWith, withPocket, type Sizing } from './least-pocket';
import { reachOf, type Reach, type SizeTarget } from './reach';
import { whyNot } from './why-not';
import { noStroke } from '../../timing/no-stroke';

/** What a feed of a row needs. */
export interface FeedSize {
  /** Index into `lines`. */
  readonly line: number;
  /** kg/s; null for a pump by curve. */
  readonly rate: number | null;
  /** Pipes and pumps side by side; null where no limit is stated. */
  readonly lines: number | null;
  readonly pumps: number | null;
}

export interface SizeRow {
  readonly choice: SizeChoice;
  /** The rig of this row, with rounded figures. */
  readonly rig: Rig;
  readonly feeds: readonly FeedSize[];
  readonly strokes: number;
  readonly seconds: number;
  /** Requirements that hold now and would not with it. */
  readonly breaks: readonly Requirement[];
}

export interface SizeAnswer {
  readonly rig: Rig;
  readonly target: SizeTarget;
  /** The rig as it is, followed to three times the time allowed. */
  readonly now: Reach;
  readonly screw: IntervalScrew | null;
  /** Unbeaten choices, shortest interval first; empty where nothing reaches the target. */
  readonly rows: readonly SizeRow[];
  /** The smallest factor of all openings that does it alone; null where they are not stated or are not what is missing. */
  readonly openingsAlone: number | null;
  /** Why nothing does, in sentences; empty where something does, or where the search ended first. */
  readonly why: readonly string[];
  /** Why not every choice was tried, in one sentence; null where every one was. */
  readonly ended: string | null;
}

export type Sized =
  { readonly ok: true; readonly answer: SizeAnswer } | { readonly ok: false; readonly message: string };

/** Intervals and feeds that are tried, in parts of those now. */
const INTERVALS = [0.5, 0.65, 0.8, 0.9, 1, 1.1, 1.25, 1.5, 2, 3];
const FEEDS = [1, 1.25, 1.5, 2, 3, 4, 6, 8];
const MOST_INTERVALS = 6;

/** Steps of work that a search may take: many times what a rig of everyday size does. */
const MOST_STEPS = 100_000;

/** What a search has found so far. */
interface Found {
  now: Reach | null;
  screw: IntervalScrew | null;
  readonly rows: SizeRow[];
  /** Choices that were followed. */
  tried: number;
}

/** In steps; `ok: false` with one sentence where the question makes no sense for this rig, or is more than `most` steps can answer. */
export function* sizeWork(facts: RigFacts, target: SizeTarget, most = MOST_STEPS): Work<Sized> {
  const { rig } = facts;
  const found: Found = { now: null, screw: null, rows: [], tried: 0 };
  const sized = yield* atMost(searchWork(facts, target, found), most);
  if (sized) return sized;
  const { now, screw } = found;
  if (!now)
    return {
      ok: false,
      message: `${rig.name} is too large to be sized: following it once to the target is more than a search may take. Ask for a target that fewer strokes reach, or of one stack by itself.`,
    };
  const ended = `Not every choice was tried, as each has to be followed to the target: ${formatCount(found.tried, 'choice')} looked at. A target that fewer strokes reach, or one stack by itself, is searched further.`;
  return {
    ok: true,
    answer: { rig, target, now, screw, rows: unbeaten(found.rows), openingsAlone: null, why: [], ended },
  };
}

const unbeaten = (rows: readonly SizeRow[]): SizeRow[] =>
  rows.filter((row) => !rows.some((other) => beats(other, row)));

function* searchWork(facts: RigFacts, target: SizeTarget, found: Found): Work<Sized> {
  const { rig } = facts;
  const now = yield* reachOf(rig, target, 3);
  const stroke = strokeInto(facts, target.chamber);
  if (now?.seconds === 0)
    return { ok: false, message: `${rig.chambers[target.chamber]!.name} is there before the first stroke.` };
  if (!now)
    return { ok: false, message: `${rig.name} has no contents to follow: state its medium, volumes and stack.` };
  if (stroke < 0) {
    const none = `No stroke of ${rig.name} moves a door, so nothing fills by strokes.`;
    return { ok: false, message: noStroke(rig.name, facts.timing, none) };
  }
  found.now = now;
  const screw = yield* intervalScrew(facts, stroke);
  found.screw = screw;
  const sizing: Sizing = { rig, target, screw };
  const intervals = yield* intervalsOf(facts, screw, stroke);
  for (const interval of intervals) {
    for (const choice of yield* choicesAt(sizing, interval)) {
      const row = yield* rowOf(facts, sizing, choice);
      found.tried++;
      if (row) found.rows.push(row);
    }
  }
  const rows = unbeaten(found.rows);
  const openingsAlone = yield* leastOpening(sizing, now);
  const why = rows.length > 0 ? [] : yield* whyNot(facts, sizing, shortest(screw, intervals));
  return { ok: true, answer: { rig, target, now, screw, rows, openingsAlone, why, ended: null } };
}

const shortest = (screw: IntervalScrew | null, intervals: readonly (number | null)[]): number | null =>
  screw ? Math.min(...intervals.map((i) => i ?? screw.now)) : null;

/** The stroke that brings something into a chamber, else the first; −1 where there is none. */
function strokeInto({ timing, flow }: RigFacts, chamber: number): number {
  const found = flow?.strokes.find((s) => (s.gains[chamber] ?? 0) > 0);
  return found?.stroke ?? (timing.strokes.length > 0 ? 0 : -1);
}

/** Intervals at which the doors do the same and everything required about time holds that holds now; `null`: as it is. */
function* intervalsOf(facts: RigFacts, screw: IntervalScrew | null, stroke: number): Work<(number | null)[]> {
  if (!screw) return [null];
  const held = facts.rig.requirements.filter((r) => isTimed(r) && evaluateRequirement(facts, r).state === 'met');
  const kept: number[] = [];
  for (const share of INTERVALS) {
    const interval = share === 1 ? screw.now : Math.round((screw.now * share) / 100_000) * 100_000;
    if (screw.literal.value + interval - screw.now <= 0 || kept.includes(interval)) continue;
    const after = yield* analysisOf(rigWithChoice(facts.rig, withPocket(1, interval, 1), screw));
    const moved = after.timing.strokes[stroke];
    if (!moved || moved.repeat !== interval || !sameOpenings(facts.timing.strokes[stroke]!, moved)) continue;
    if (held.every((r) => evaluateRequirement(after, r).state === 'met')) kept.push(interval);
  }
  while (kept.length > MOST_INTERVALS)
    kept.splice(
      kept.findIndex((_, k) => k % 2 === 1 && kept[k] !== screw.now),
      1,
    );
  return kept;
}

function isTimed({ metric, during }: Requirement): boolean {
  return metricNamed(metric)?.kind !== 'flow' && during === null;
}

/** The least feed of the list that does it at an interval, with its smallest pockets, and the next feed up where it saves pockets. */
function* choicesAt(sizing: Sizing, interval: number | null): Work<SizeChoice[]> {
  const feeds = sizing.rig.lines.some((l) => l.kind === 'feed') ? FEEDS : [1];
  const most = withPocket(LARGEST, interval, feeds[feeds.length - 1]!);
  if (!((yield* secondsWith(sizing, most)) <= sizing.target.within)) {
    // Larger is not always sooner: with pockets as they are it may still do.
    if (!((yield* secondsWith(sizing, { ...most, pocket: 1, opening: 1 })) <= sizing.target.within)) return [];
  }
  const choices: SizeChoice[] = [];
  for (const feed of feeds) {
    const pocket = yield* leastPocket(sizing, interval, feed);
    if (pocket === null) continue;
    const before = choices[0];
    if (!before || pocket < 0.9 * before.pocket) choices.push(withPocket(pocket, interval, feed));
    if (before) break;
  }
  return choices;
}

/** A choice in readable figures, followed once more; null where the rounded rig does not do it. */
function* rowOf(facts: RigFacts, { rig, target, screw }: Sizing, found: SizeChoice): Work<SizeRow | null> {
  const choice = rounded(rig, found);
  const made = rigWithChoice(rig, choice, screw);
  const reach = yield* reachOf(made, target);
  if (!reach || reach.seconds === null) return null;
  const after = yield* analysisOf(made);
  const held = yield* patiently(() =>
    facts.rig.requirements.filter((r) => evaluateRequirement(facts, r).state === 'met'),
  );
  const breaks = yield* patiently(() => held.filter((r) => evaluateRequirement(after, r).state === 'failed'));
  return { choice, rig: made, feeds: feedsOf(made), strokes: reach.strokes, seconds: reach.seconds, breaks };
}

/** The largest pocket up to two significant figures (in litres), the largest bore up to whole millimetres, openings of other kinds as found. */
function rounded(rig: Rig, choice: SizeChoice): SizeChoice {
  const largest = (values: readonly (number | undefined)[]): number => Math.max(0, ...values.map((v) => v ?? 0));
  const pocket = largest(rig.doors.map((d) => d.pocket?.nominal)) * 1000;
  const area = largest(rig.doors.map((d) => d.area?.nominal));
  const up = (value: number): number => {
    const step = 10 ** (Math.floor(Math.log10(value)) - 1);
    return Math.ceil(value / step - 1e-9) * step;
  };
  const factor = pocket > 0 ? up(pocket * choice.pocket) / pocket : choice.pocket;
  const bore = Math.sqrt((4 * area) / Math.PI) * 1000;
  const opening = bore > 0 ? (Math.ceil(bore * Math.sqrt(factor) - 1e-6) / bore) ** 2 : factor;
  return { ...choice, pocket: factor, opening: Math.abs(factor - 1) < 1e-9 ? 1 : opening };
}

function feedsOf(rig: Rig): FeedSize[] {
  const law = flowRun(rig)?.model.law;
  return rig.lines.flatMap((line, index) => {
    if (line.kind !== 'feed' || !law) return [];
    const rate = line.rate ? massRate(line.rate, law) : null;
    const needed = (limit: typeof line.lineLimit): number | null => {
      const capacity = limit ? massRate(limit, law) : null;
      return rate === null || capacity === null || !(capacity > 0) ? null : unitsNeeded(rate, capacity);
    };
    return [{ line: index, rate, lines: needed(line.lineLimit), pumps: needed(line.pumpLimit) }];
  });
}

/** Whether a row asks for no more of anything than another, and for less of something. */
function beats({ choice: a }: SizeRow, { choice: b }: SizeRow): boolean {
  const [x, y] = [a, b].map((c) => [-(c.interval ?? 0), c.pocket, c.feed]) as [number[], number[]];
  return x.every((v, k) => v <= y[k]! * (1 + Math.sign(y[k]!) * 1e-9)) && x.some((v, k) => v < y[k]! - 1e-9);
}

/** The smallest factor of the openings that is enough by itself, where they are stated and now too small. */
function* leastOpening(sizing: Sizing, now: Reach): Work<number | null> {
  const { rig, target } = sizing;
  const model = flowRun(rig)?.model;
  if (!model || levelOf(model) !== 'openings') return null;
  if (now.seconds !== null && now.seconds <= target.within) return null;
  const does = function* (opening: number): Work<boolean> {
    return (yield* secondsWith(sizing, { pocket: 1, opening, interval: null, feed: 1 })) <= target.within;
  };
  if (!(yield* does(LARGEST))) return null;
  let [fails, enough] = [1, LARGEST];
  while (enough / fails > 1.03) {
    const middle = Math.sqrt(fails * enough);
    if (yield* does(middle)) enough = middle;
    else fails = middle;
  }
  return enough;
}
