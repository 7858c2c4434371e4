/** All checks, in the order of the reference, and the codes that they and the resolver report. */
import { metricNamed } from '../metrics/registry';
import { PROBLEM_CODES } from '../model/problem-codes';
import type { Problem, Repair } from '../model/problem';
import { drivesOf, isSequenced } from '../model/logic';
import { analysisOf } from '../run/analyse';
import { patiently, type Work } from '../work/work';
import type { RigFacts } from '../run/facts';
import type { Check, CheckContext, CodeInfo, Found, Recheck } from './check';
import { neverEnds as cycleNeverEnds } from './cycle/never-ends';
import { neverStarts } from './cycle/never-starts';
import { notWorkedOut } from './cycle/not-worked-out';
import { type FoundAnyhow, withCauses } from './causes';
import { overrun } from './cycle/overrun';
import { repeatDiffers } from './cycle/repeat-differs';
import { atPowerOn } from './door/at-power-on';
import { leftOpen } from './door/left-open';
import { neverOpens } from './door/never-opens';
import { offSequence } from './door/off-sequence';
import { overlap } from './door/overlap';
import { straightThrough } from './door/straight-through';
import { tooShort } from './door/too-short';
import { trappedPocket } from './door/trapped-pocket';
import { cannotKeepUp } from './flow/cannot-keep-up';
import { force } from './flow/force';
import { leak } from './flow/leak';
import { overflow } from './flow/overflow';
import { overLimit } from './flow/over-limit';
import { overSupply } from './flow/over-supply';
import { reverse } from './flow/reverse';
import { shortFill } from './flow/short-fill';
import { squeezed } from './flow/squeezed';
import { stalls } from './flow/stalls';
import { temperature } from './flow/temperature';
import { value } from './flow/value';
import { power } from './loss/power';
import { switchLoss } from './loss/switch';
import { vents } from './loss/vents';
import { tolerance } from './require/tolerance';
import { failed, malformed, undecided } from './require/verdicts';
import { chatter } from './sensor/chatter';
import { inverted } from './sensor/inverted';
import { neverEnds } from './timer/never-ends';
import { neverFires } from './timer/never-fires';
import { retriggered } from './timer/retriggered';
import { thinMargin } from './timer/thin-margin';
import { loopNeverSettles } from './wire/loop-never-settles';
import { twoDrivers } from './wire/two-drivers';
import { undrivenDoor } from './wire/undriven-door';
import { unreadSensor } from './wire/unread-sensor';

export const CHECKS: readonly Check[] = [
  undrivenDoor,
  unreadSensor,
  loopNeverSettles,
  twoDrivers,
  neverFires,
  thinMargin,
  neverEnds,
  retriggered,
  overlap,
  straightThrough,
  trappedPocket,
  neverOpens,
  tooShort,
  leftOpen,
  atPowerOn,
  offSequence,
  overrun,
  repeatDiffers,
  cycleNeverEnds,
  neverStarts,
  notWorkedOut,
  inverted,
  chatter,
  power,
  switchLoss,
  vents,
  value,
  overLimit,
  cannotKeepUp,
  stalls,
  shortFill,
  reverse,
  overflow,
  force,
  squeezed,
  temperature,
  leak,
  overSupply,
  failed,
  tolerance,
  undecided,
  malformed,
];

/** Codes that no check of this registry reports yet: they belong to the proof of requirements. */
export const RESERVED_CODES: readonly CodeInfo[] = [
  {
    code: 'require/refuted',
    title: 'Requirement is refuted',
    severity: 'error',
    explanation:
      'The proof engine has found times within tolerance and moments of change at which the requirement, or a property required of every rig, does not hold; the message gives the counter-example step by step, and `caisson prove --diagram` and the preview draw it. Reported where a proof is asked for (`caisson check --prove`, `caisson prove`, the lens in the editor), not while writing.',
  },
];

/** Every code outside the form of the text (`syntax/*`, which the document layer adds): resolver, checks, proof. */
export const ALL_CODES: readonly CodeInfo[] = [...PROBLEM_CODES, ...CHECKS, ...RESERVED_CODES].map(
  ({ code, title, severity, explanation }) => ({ code, title, severity, explanation }),
);

/** Errors of the wiring, without fixes: with one of them a rig has no control. No other check is run. */
export const wiringErrors = (context: CheckContext): Problem[] =>
  CHECKS.filter(({ code, severity }) => code.startsWith('wire/') && severity === 'error').flatMap((check) =>
    check.run(context).map(({ repair: _, ...finding }) => finding),
  );

/** Runs every check on one rig. Problems come check by check; places may lie in imported files. */
export function runChecks(context: CheckContext): Problem[] {
  const steps = checkSteps(context);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/** How far checking is: `early` once everything that needs no flow is known, `more` in between. */
export type CheckStep = { readonly stage: 'more' } | { readonly stage: 'early'; readonly problems: readonly Problem[] };

/** The same one check at a time, those first that are quick: what rests on flow, losses of power and requirements comes last. */
export function* checkSteps(context: CheckContext): Generator<CheckStep, Problem[], void> {
  const full: CheckContext = { ...context, recheck: recheckOf(context), tries: { left: triesFor(context) } };
  const found: Found[] = [];
  for (const check of CHECKS.filter((c) => !isLate(c))) {
    found.push(...(yield* more(reported(check, full))));
    yield { stage: 'more' };
  }
  const foundAnyhow = yield* more(drivenOnce(full, found));
  yield { stage: 'early', problems: withCauses(context.rig, found, foundAnyhow) };
  for (const check of CHECKS.filter(isLate)) {
    found.push(...(yield* more(reported(check, full))));
    yield { stage: 'more' };
  }
  return withCauses(context.rig, found, foundAnyhow);
}

/** Elements of all rigs, one for each drive alone, that are checked to tell what follows from a second drive. */
const MOST_DRIVEN_ONCE = 2_000;

/**
 * What is found about a door that is driven twice, and is found as well with either drive alone, does not follow from its second drive: the
 * rig is checked with each drive alone. Known for what such a re-check judges; where that would cost too much nothing counts as following.
 */
function* drivenOnce({ rig, recheck }: CheckContext, findings: readonly Found[]): Work<FoundAnyhow> {
  const twice = findings.filter((f) => f.code === twoDrivers.code);
  const doors = new Set(twice.flatMap((f) => f.about?.doors?.slice(0, 1) ?? []));
  const drivers = rig.drives.filter((d) => d.kind === 'door' && doors.has(d.target)).length;
  if (drivers * (rig.network.elements.length + 1) > MOST_DRIVEN_ONCE) return () => true;
  const remaining = new Map<Found, ReadonlySet<string>>();
  for (const finding of twice) {
    const door = finding.about?.doors?.[0];
    // A sequence moves its doors whether or not its trigger counts as a drive.
    if (door === undefined || isSequenced(rig, door) || !recheck) continue;
    let common: ReadonlySet<string> | null = null;
    for (const drive of drivesOf(rig, door)) {
      const drives = rig.drives.filter((d) => d === drive || d.kind !== 'door' || d.target !== door);
      const codes: readonly string[] = yield* recheck(yield* analysisOf({ ...rig, drives }));
      const found = codes.map(placeAlone);
      common = new Set(common ? found.filter((code) => common!.has(code)) : found);
    }
    remaining.set(finding, common ?? new Set());
  }
  return (finding, cause) => remaining.get(cause)?.has(placeAlone(subjectOf(finding))) === true;
}

/** A subject without the places that take part: which timers and pulses do is another matter with every drive. */
const placeAlone = (subject: string): string => subject.split(' ', 2).join(' ');

/** Two doors or two strokes may have one timer in their chains of causes: it is shown once. */
function relatedOnce(finding: Found): Found {
  const { related } = finding;
  if (related === undefined || related.length < 2) return finding;
  const seen = new Map(related.map((r) => [`${r.at.uri} ${r.at.start} ${r.at.end} ${r.message}`, r]));
  return seen.size === related.length ? finding : { ...finding, related: [...seen.values()] };
}

/** What a check reports, with the fixes of each problem. */
function* reported(check: Check, context: CheckContext): Work<Found[]> {
  if (check.prepare) yield* check.prepare(context);
  const found: Found[] = [];
  for (const { repair, ...finding } of yield* patiently(() => check.run(context))) {
    found.push(relatedOnce(repair ? repaired(finding, yield* repair()) : finding));
  }
  return found;
}

/** A finding with what was found to repair it, or why there is none. */
function repaired(finding: Found, repairs: readonly Repair[]): Found {
  const fixes = repairs.filter((r) => 'edits' in r);
  if (fixes.length > 0) return { ...finding, fixes };
  const noFix = repairs.find((r) => 'because' in r)?.because;
  return noFix === undefined ? finding : { ...finding, noFix };
}

/** Work as steps of checking. */
export function* more<T>(work: Work<T>): Generator<CheckStep, T, void> {
  for (;;) {
    const step = work.next();
    if (step.done) return step.value;
    yield { stage: 'more' };
  }
}

/** Whether findings of this code are found last, as they take longest: what rests on flow, losses of power and requirements. */
export function isLate({ code }: Pick<CodeInfo, 'code'>): boolean {
  return /^(flow|loss|require)\//.test(code);
}

/** 32 changed rigs for a small one, fewer for larger ones (by elements times triggers: what one analysis costs), then none. */
function triesFor({ rig, facts }: CheckContext): number {
  const cost = (rig.network.elements.length + 1) * Math.max(1, facts.timing.strokes.length);
  return Math.floor(Math.min(32, 1_000 / cost));
}

/**
 * What a repair is judged by: what a change of times can bring about at once. Left out is what costs much for every repair: trying
 * many situations, filling the chambers, all times within tolerance.
 */
function isJudged({ code }: Check): boolean {
  return /^(wire|timer|door|cycle|sensor)\/|^require\/failed$/.test(code);
}

/** A problem by its code and what it is about: its place and the places that take part, which a change of times leaves where they are. */
function subjectOf({ code, at, related = [] }: Problem): string {
  const places = [at, ...related.map((r) => r.at)].map((p) => `${p.uri}:${p.start}-${p.end}`);
  return [code, places[0], ...new Set(places.slice(1).sort())].join(' ');
}

function recheckOf(context: CheckContext): Recheck {
  const known = new WeakMap<RigFacts, readonly string[]>();
  const judges = CHECKS.filter(isJudged);
  const requirements = context.rig.requirements.filter(
    (r) => r.during === null && metricNamed(r.metric)?.kind !== 'flow',
  );
  return function* (facts) {
    const before = known.get(facts);
    if (before) return before;
    const rig = { ...facts.rig, requirements };
    const changed: CheckContext = {
      rig,
      facts,
      resolution: context.resolution,
      text: () => undefined,
      tree: () => undefined,
    };
    const problems: Problem[] = [];
    for (const check of judges) {
      if (check.prepare) yield* check.prepare(changed);
      problems.push(...(yield* patiently(() => check.run(changed))));
      yield;
    }
    const codes = problems.filter((p) => p.severity === 'error' || p.severity === 'warning').map(subjectOf);
    known.set(facts, codes);
    return codes;
  };
}
