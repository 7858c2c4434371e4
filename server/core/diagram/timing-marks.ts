/** What lies between doors: overlaps wanted or not, gaps, whole paths open. Classified by what the text states about each pair. */
import type { Requirement, Rig, Sequence } from '../model/rig';
import type { DoorFacts, Interval, PairFacts, StrokeFacts } from '../timing/facts';
import { timeText } from './time-text';
import type { Band, PairMark } from './timing-model';

type Pair = readonly [number, number];

/** What marks are made from: the facts of a stroke, or the same of any other trace. */
export type DoorRelations = Pick<StrokeFacts, 'doors' | 'pairs' | 'straightThrough'>;

/** Does this requirement's metric name these two doors, in either order? */
function isAbout(requirement: Requirement, metric: string, [a, b]: Pair): boolean {
  if (requirement.metric !== metric) return false;
  const doors = requirement.args.flatMap((arg) => (arg.kind === 'item' && arg.of === 'door' ? [arg.index] : []));
  return doors.length === 2 && doors.includes(a) && doors.includes(b);
}

/** Is `value` (in the unit of the requirement's numbers) what is asked for? */
export function satisfies(requirement: Requirement, value: number): boolean {
  const c = requirement.comparison;
  if (!c) return true;
  const [low, high] = [c.low.nominal, c.high.nominal];
  switch (c.operator) {
    case '<':
      return value < high;
    case '<=':
      return value <= high;
    case '>':
      return value > low;
    case '>=':
      return value >= low;
    case '=':
      return value === low;
    case '<>':
      return value !== low;
    case 'in':
      return value >= low && value <= high;
  }
}

/** Doors that a written sequence has open at once: an overlap meant by whoever wrote it. */
function meantBySequence(sequence: Sequence, [a, b]: Pair): boolean {
  const open = new Set<number>();
  const steps = [...sequence.steps].sort((x, y) => x.at.nominal - y.at.nominal || Number(x.open) - Number(y.open));
  return steps.some((step) => {
    for (const door of step.doors) {
      if (step.open) open.add(door);
      else open.delete(door);
    }
    return open.has(a) && open.has(b);
  });
}

interface PairWord {
  readonly overlap: Requirement | undefined;
  readonly gap: Requirement | undefined;
  readonly meant: boolean;
}

function wordOf(rig: Rig, pair: Pair): PairWord {
  return {
    overlap: rig.requirements.find((r) => isAbout(r, 'overlap', pair)),
    gap: rig.requirements.find((r) => isAbout(r, 'gap', pair)),
    meant: rig.sequences.some((s) => meantBySequence(s, pair)),
  };
}

/** All marks of a stroke, pair by pair in order of declaration. */
export function marksOf(rig: Rig, stroke: DoorRelations): PairMark[] {
  return stroke.pairs.flatMap((pair) => pairMarks(rig, stroke, pair));
}

function pairMarks(rig: Rig, stroke: DoorRelations, pair: PairFacts): PairMark[] {
  const word = wordOf(rig, pair.doors);
  if (word.overlap || (word.meant && !word.gap)) return overlapMarks(rig, pair, word);
  if (pair.bothNotShut.length > 0) return togetherMarks(rig, pair, word);
  return word.gap ? gapMarks(rig, stroke.doors, pair, word.gap) : [];
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

function overlapMarks(rig: Rig, pair: PairFacts, word: PairWord): PairMark[] {
  const ok = !word.overlap || (pair.overlap !== null && satisfies(word.overlap, pair.overlap));
  const asked = word.overlap ? ` Asked for: ${word.overlap.text}.` : ' Written so in the sequence.';
  return pair.bothFullyOpen.map((interval, count) => ({
    ...frame(rig, pair, 'overlap', interval, count),
    verdict: ok ? 'wanted' : 'short',
    label: `overlap ${lengthText(interval)}`,
    text: `${namesOf(rig, pair)} are both fully open ${span(interval)} (${lengthText(interval)}).${asked}`,
    source: word.overlap?.at ?? null,
  }));
}

function togetherMarks(rig: Rig, pair: PairFacts, word: PairWord): PairMark[] {
  const asked = word.gap ? `Asked for: ${word.gap.text}.` : 'Nothing in the text says that this is wanted.';
  return pair.bothNotShut.map((interval, count) => ({
    ...frame(rig, pair, 'overlap', interval, count),
    verdict: word.gap ? 'short' : 'unstated',
    label: `open together ${lengthText(interval)}`,
    text: `${namesOf(rig, pair)} are both off their seats ${span(interval)} (${lengthText(interval)}). ${asked}`,
    source: word.gap?.at ?? rig.doors[pair.doors[1]]!.at,
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
function shortestGap(doors: readonly DoorFacts[], [a, b]: Pair): { from: number; to: number } | null {
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

/** Times when a whole path stands open. */
export function bandsOf(rig: Rig, stroke: DoorRelations): Band[] {
  return stroke.straightThrough.flatMap(({ stack, intervals }) =>
    intervals.map((interval, count) => ({
      id: `path:${stack}/${count}`,
      from: interval.from,
      to: interval.to,
      label: `straight through ${lengthText(interval)}`,
      source: rig.stacks[stack]?.whole ?? null,
    })),
  );
}
