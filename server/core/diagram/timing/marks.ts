/** Relations between doors: overlaps wanted or not, gaps, whole paths open. Classified by what the text states about each pair. */
import { meets } from '../../metrics/comparison';
import { spareText } from '../../metrics/requirement-value';
import { slackOf } from '../../metrics/slack';
import { forbidsTogether, pairIntent, pathsToKeepShut } from '../../model/intent';
import { conditionOf } from '../../model/logic';
import type { Source } from '../../model/problem';
import type { Requirement, Rig } from '../../model/rig';
import { stagesOf } from '../../model/stages';
import type { DoorFacts, Interval, PairFacts, StrokeFacts } from '../../timing/facts';
import { pathOpen, whenTrue } from '../../timing/course';
import { lengthOf } from '../../timing/intervals';
import type { Trace } from '../../timing/trace';
import { intersect, shortestGap } from '../../timing/windows';
import { type KnownTo, momentText, timeText } from '../kit/time-text';
import type { Band, PairMark } from './model';
import { say } from '../../words/say';

/** What marks are made from: the facts of a stroke, or the same of any other trace. */
export type DoorRelations = Pick<StrokeFacts, 'doors' | 'pairs' | 'trace'>;

/** The rig of a picture, and how finely its moments are known. */
interface Drawn extends KnownTo {
  readonly rig: Rig;
}

/** All marks of a stroke, pair by pair in order of declaration. `scenario`: of which it is the trace; requirements on others do not apply to it. */
export function marksOf(drawn: Drawn, stroke: DoorRelations, scenario: number | null = null): PairMark[] {
  return stroke.pairs.flatMap((pair) => pairMarks(drawn, stroke, pair, scenario));
}

function pairMarks(drawn: Drawn, stroke: DoorRelations, pair: PairFacts, scenario: number | null): PairMark[] {
  const { rig } = drawn;
  const intent = pairIntent(rig, ...pair.doors);
  const asked = (list: readonly Requirement[]): readonly Requirement[] =>
    list.filter(({ during }) => during === null || during === scenario);
  const { orders, sequence } = intent;
  const [overlaps, gaps, nevers] = [asked(intent.overlaps), asked(intent.gaps), asked(intent.nevers)];
  if (overlaps[0]) return overlapMarks(drawn, pair, overlaps);
  if (pair.bothNotShut.length === 0) return gaps[0] ? gapMarks(drawn, stroke.doors, pair, gaps) : [];
  if (gaps[0]) return togetherMarks(drawn, pair, 'short', say`Asked for: ${gaps[0].text}.`, gaps[0].at);
  for (const never of nevers.filter((r) => forbidsTogether(rig, r, ...pair.doors))) {
    const marks = forbiddenMarks(drawn, stroke.trace, pair, never);
    if (marks.length > 0) return marks;
  }
  if (nevers.length > 0 || orders.length > 0 || sequence)
    return togetherMarks(drawn, pair, 'wanted', say`Meant so by what the text says about the two.`, null);
  if (!shareLongStage(rig, pair.doors)) return [];
  const stated = say`Nothing in the text says that this is wanted.`;
  return togetherMarks(drawn, pair, 'unstated', stated, rig.doors[pair.doors[1]]!.at);
}

/** The times together at which the condition of a `never` is true. */
function forbiddenMarks(drawn: Drawn, trace: Trace, pair: PairFacts, never: Requirement): PairMark[] {
  const { rig } = drawn;
  const condition = conditionOf(rig, never.args[0]);
  const broken = condition ? intersect(pair.bothNotShut, whenTrue(trace, condition)) : [];
  return togetherMarks(drawn, { ...pair, bothNotShut: broken }, 'short', say`Asked for: ${never.text}.`, never.at);
}

/** The requirement to name beside a length: the first that it does not meet, else the first; and whether it meets all. */
function askedOf(requirements: readonly Requirement[], length: number): { asked: Requirement; met: boolean } {
  const missed = requirements.find((r) => !meets(r, length));
  return { asked: missed ?? requirements[0]!, met: missed === undefined };
}

/** A length meets its requirement by little where less than this part of itself is to spare: our own choice, no source. */
const TIGHT = 0.1;

/** By how much the nearest of some requirements that a length meets is met, where that is little. */
function tightOf(requirements: readonly Requirement[], length: number): { tight?: string } {
  const bounds = requirements.flatMap(({ comparison }) => (comparison ? [comparison] : []));
  const little = bounds.filter((comparison) => slackOf(comparison, length) < TIGHT * length);
  if (little.length === 0) return {};
  return { tight: spareText(Math.min(...little.map((comparison) => slackOf(comparison, length))), 'time') };
}

/** Doors of one stage of three or more; where two doors are all there is, open together is a path straight through. */
function shareLongStage(rig: Rig, [a, b]: PairFacts['doors']): boolean {
  return stagesOf(rig).some(({ doors }) => doors.length > 2 && doors.includes(a) && doors.includes(b));
}

function frame(rig: Rig, pair: PairFacts, kind: 'overlap' | 'gap', interval: Interval, count: number) {
  const [a, b] = pair.doors.map((d) => rig.doors[d]!.name) as [string, string];
  return {
    id: `pair:${a}+${b}/${kind}/${count}`,
    kind,
    lanes: [`door:${a}`, `door:${b}`] as const,
    from: interval.from,
    to: interval.to,
  };
}

function span(drawn: Drawn, interval: Interval): string {
  const { from, to } = interval;
  return to === null
    ? lengthText(drawn, interval)
    : say`from ${momentText(from, drawn)} to ${momentText(to, drawn)} (${lengthText(drawn, interval)})`;
}

/** Where what is drawn ends with the doors still so, nothing is known of how long it lasts. */
function lengthText(known: KnownTo, { from, to }: Interval): string {
  return to === null ? say`from ${momentText(from, known)} on` : timeText(to - from);
}

function namesOf(rig: Rig, pair: PairFacts): string {
  const [a, b] = pair.doors.map((d) => rig.doors[d]!.name);
  return say`${a!} and ${b!}`;
}

function overlapMarks(drawn: Drawn, pair: PairFacts, overlaps: readonly Requirement[]): PairMark[] {
  return pair.bothFullyOpen.map((interval, count) => {
    const { asked, met } = askedOf(overlaps, lengthOf(interval));
    return {
      ...frame(drawn.rig, pair, 'overlap', interval, count),
      verdict: met ? 'wanted' : 'short',
      ...(met ? tightOf(overlaps, lengthOf(interval)) : {}),
      label: say`overlap ${lengthText(drawn, interval)}`,
      text: say`${namesOf(drawn.rig, pair)} are both fully open ${span(drawn, interval)}. Asked for: ${asked.text}.`,
      source: asked.at,
    };
  });
}

function togetherMarks(
  drawn: Drawn,
  pair: PairFacts,
  verdict: PairMark['verdict'],
  said: string,
  source: Source | null,
): PairMark[] {
  return pair.bothNotShut.map((interval, count) => ({
    ...frame(drawn.rig, pair, 'overlap', interval, count),
    verdict,
    label: say`open together ${lengthText(drawn, interval)}`,
    text: `${say`${namesOf(drawn.rig, pair)} are both off their seats ${span(drawn, interval)}.`} ${said}`,
    source,
  }));
}

function gapMarks(
  drawn: Drawn,
  doors: readonly DoorFacts[],
  pair: PairFacts,
  gaps: readonly Requirement[],
): PairMark[] {
  const [a, b] = pair.doors.map((door) => doors.find((d) => d.door === door)?.windows.map((w) => w.notShut) ?? []);
  const interval = shortestGap(a!, b!);
  if (!interval) return [];
  const { asked, met } = askedOf(gaps, lengthOf(interval));
  return [
    {
      ...frame(drawn.rig, pair, 'gap', interval, 0),
      verdict: met ? 'apart' : 'short',
      ...(met ? tightOf(gaps, lengthOf(interval)) : {}),
      label: say`gap ${lengthText(drawn, interval)}`,
      text: say`Between ${namesOf(drawn.rig, pair)} both are shut ${span(drawn, interval)}. Asked for: ${asked.text}.`,
      source: asked.at,
    },
  ];
}

/** Times when a path that must be kept shut has all its doors off their seats. */
export function bandsOf(rig: Rig, trace: Trace, known: KnownTo = {}): Band[] {
  return pathsToKeepShut(rig).flatMap((path, index) =>
    pathOpen(rig, trace, path).map((interval, count) => ({
      id: `path:${index}/${count}`,
      lanes: path.doors.map((d) => `door:${rig.doors[d]!.name}`),
      from: interval.from,
      to: interval.to,
      label: say`straight through ${lengthText(known, interval)}`,
      source: rig.stacks[path.stack]?.whole ?? null,
    })),
  );
}
