/** What lies between doors: overlaps wanted or not, gaps, whole paths open. Classified by what the text states about each pair. */
import { missBy } from '../../metrics/comparison';
import { pairIntent, pathsToKeepShut } from '../../model/intent';
import type { Source } from '../../model/problem';
import type { Requirement, Rig } from '../../model/rig';
import { stagesOf } from '../../model/stages';
import type { DoorFacts, Interval, PairFacts, StrokeFacts } from '../../timing/facts';
import type { Trace } from '../../timing/trace';
import { intersectAll, openStretches } from '../../timing/windows';
import { timeText } from '../kit/time-text';
import type { Band, PairMark } from './model';

/** What marks are made from: the facts of a stroke, or the same of any other trace. */
export type DoorRelations = Pick<StrokeFacts, 'doors' | 'pairs'>;

/** Whether a length is what a requirement asks for, as metrics compare it. */
function satisfies({ comparison }: Requirement, value: number): boolean {
  return comparison === null || missBy(comparison, value) === 0;
}

/** All marks of a stroke, pair by pair in order of declaration. */
export function marksOf(rig: Rig, stroke: DoorRelations): PairMark[] {
  return stroke.pairs.flatMap((pair) => pairMarks(rig, stroke, pair));
}

function pairMarks(rig: Rig, stroke: DoorRelations, pair: PairFacts): PairMark[] {
  const { overlaps, gaps, nevers, orders, sequence } = pairIntent(rig, ...pair.doors);
  if (overlaps[0]) return overlapMarks(rig, pair, overlaps[0]);
  if (pair.bothNotShut.length === 0) return gaps[0] ? gapMarks(rig, stroke.doors, pair, gaps[0]) : [];
  const broken = gaps[0] ?? nevers[0];
  if (broken) return togetherMarks(rig, pair, 'short', `Asked for: ${broken.text}.`, broken.at);
  if (orders.length > 0 || sequence)
    return togetherMarks(rig, pair, 'wanted', 'Meant so by what the text says about their order.', null);
  if (!shareLongStage(rig, pair.doors)) return [];
  const said = 'Nothing in the text says that this is wanted.';
  return togetherMarks(rig, pair, 'unstated', said, rig.doors[pair.doors[1]]!.at);
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

function span(interval: Interval): string {
  return interval.to === null
    ? `from ${timeText(interval.from)} on`
    : `from ${timeText(interval.from)} to ${timeText(interval.to)}`;
}

function lengthText(interval: Interval): string {
  return interval.to === null ? 'without end' : timeText(interval.to - interval.from);
}

function namesOf(rig: Rig, pair: PairFacts): string {
  return pair.doors.map((d) => rig.doors[d]!.name).join(' and ');
}

function overlapMarks(rig: Rig, pair: PairFacts, asked: Requirement): PairMark[] {
  const verdict = pair.overlap !== null && satisfies(asked, pair.overlap) ? 'wanted' : 'short';
  return pair.bothFullyOpen.map((interval, count) => ({
    ...frame(rig, pair, 'overlap', interval, count),
    verdict,
    label: `overlap ${lengthText(interval)}`,
    text: `${namesOf(rig, pair)} are both fully open ${span(interval)} (${lengthText(interval)}). Asked for: ${asked.text}.`,
    source: asked.at,
  }));
}

function togetherMarks(
  rig: Rig,
  pair: PairFacts,
  verdict: PairMark['verdict'],
  said: string,
  source: Source | null,
): PairMark[] {
  return pair.bothNotShut.map((interval, count) => ({
    ...frame(rig, pair, 'overlap', interval, count),
    verdict,
    label: `open together ${lengthText(interval)}`,
    text: `${namesOf(rig, pair)} are both off their seats ${span(interval)} (${lengthText(interval)}). ${said}`,
    source,
  }));
}

function gapMarks(rig: Rig, doors: readonly DoorFacts[], pair: PairFacts, gap: Requirement): PairMark[] {
  const interval = shortestGap(doors, pair.doors);
  if (!interval) return [];
  return [
    {
      ...frame(rig, pair, 'gap', interval, 0),
      verdict: satisfies(gap, interval.to - interval.from) ? 'apart' : 'short',
      label: `gap ${lengthText(interval)}`,
      text: `Between ${namesOf(rig, pair)} both are shut ${span(interval)} (${lengthText(interval)}). Asked for: ${gap.text}.`,
      source: gap.at,
    },
  ];
}

/** The shortest time between one door being shut and the other leaving shut; the earlier of equals. */
function shortestGap(doors: readonly DoorFacts[], [a, b]: PairFacts['doors']): { from: number; to: number } | null {
  const windowsOf = (door: number) => doors.find((d) => d.door === door)?.windows ?? [];
  const gaps: { from: number; to: number }[] = [];
  for (const [first, second] of [
    [a, b],
    [b, a],
  ] as const) {
    for (const one of windowsOf(first)) {
      const from = one.notShut.to;
      if (from === null) continue;
      for (const other of windowsOf(second))
        if (other.notShut.from >= from) gaps.push({ from, to: other.notShut.from });
    }
  }
  gaps.sort((x, y) => x.to - x.from - (y.to - y.from) || x.from - y.from);
  return gaps[0] ?? null;
}

/** Times when a path that must be kept shut has all its doors off their seats. */
export function bandsOf(rig: Rig, trace: Trace): Band[] {
  const notShut = trace.doors.map((track) => openStretches(track, trace.start, trace.end).map((s) => s.notShut));
  return pathsToKeepShut(rig).flatMap((path, index) =>
    intersectAll(path.doors.map((d) => notShut[d] ?? [])).map((interval, count) => ({
      id: `path:${index}/${count}`,
      lanes: path.doors.map((d) => `door:${rig.doors[d]!.name}`),
      from: interval.from,
      to: interval.to,
      label: `straight through ${lengthText(interval)}`,
      source: rig.stacks[path.stack]?.whole ?? null,
    })),
  );
}
