/** What a requirement about strokes that follow one another misses where they do not: signals that nothing reads, and what the start waits for. */
import { asOperand } from '../../../../grammar/src/rewrite';
import type { Verdict } from '../../metrics/verdict';
import type { Fix, RelatedPlace, Source } from '../../model/problem';
import type { Requirement, Rig } from '../../model/rig';
import { analysisOf } from '../../run/analyse';
import { joined, type LooseEnd, looseEnds, standstill } from '../../run/no-repeat';
import type { StrokeFacts } from '../../timing/facts';
import { formatTime } from '../../units/units';
import type { Work } from '../../work/work';
import type { CheckContext } from '../check';
import { expressionOf } from '../repair/edits';
import { say } from '../../words/say';

/** Metrics of strokes that follow one another. */
const OF_REPEATS: ReadonlySet<string> = new Set(['repeat', 'rate']);

/** The strokes that come once, of a requirement that asks how they follow one another and is not met. */
export function strokesMissed(
  { facts, recheck }: CheckContext,
  { metric, during }: Requirement,
  { state, actual }: Verdict,
): readonly StrokeFacts[] {
  const isMissed = (state === 'failed' || state === 'undecided') && actual === null;
  // A changed rig is asked for its findings only, not for what explains them.
  return recheck && isMissed && during === null && OF_REPEATS.has(metric) ? facts.timing.strokes : [];
}

/** Nets that would have to change before a stroke comes again. */
export const netsWaitedFor = (rig: Rig, strokes: readonly StrokeFacts[]): number[] =>
  strokes.flatMap((stroke) => standstill(rig, stroke).map(({ net }) => net));

/** Signals that nothing reads, with which the strokes would repeat. */
export function unreadPlaces(context: CheckContext, strokes: readonly StrokeFacts[]): RelatedPlace[] {
  const { rig } = context;
  return strokes.flatMap((stroke) =>
    looseEnds(rig, stroke).map((end) => {
      const signal = rig.signals[end.signal]!;
      const start = rig.network.elements[end.element]!.name;
      const message = say`${signal.name} moves nothing: if ${start} read it ("${wordsOf(rig, end)}"), strokes would repeat every ${formatTime(end.repeat)}.`;
      return { at: signal.at, message, ...(isUnused(context, signal.at) ? { cause: 'name/unused' } : {}) };
    }),
  );
}

const wordsOf = (rig: Rig, { signal, inverted }: LooseEnd): string =>
  `and ${inverted ? 'not ' : ''}${rig.signals[signal]!.name}`;

const isUnused = ({ resolution }: CheckContext, { uri, start }: Source): boolean =>
  resolution.problems.some((p) => p.code === 'name/unused' && p.at.uri === uri && p.at.start === start);

/** Lets the start read such a signal, where that is one word more in its expression and brings no other finding. */
export function* readingFixes(context: CheckContext, strokes: readonly StrokeFacts[]): Work<Fix[]> {
  const { rig, recheck } = context;
  const fixes: Fix[] = [];
  if (!recheck) return fixes;
  for (const end of strokes.flatMap((stroke) => looseEnds(rig, stroke))) {
    const element = rig.network.elements[end.element]!;
    const start = rig.signals.find((s) => s.net === element.net);
    const expression = start && element.kind === 'LOGIC' ? expressionOf(context, start.whole) : null;
    if (!start || !expression || expression.text.includes('\n')) continue;
    const net = { op: 'net', net: rig.signals[end.signal]!.net } as const;
    const changed = joined(rig, end.element, end.inverted ? { op: 'not', a: net } : net);
    const before = new Set(yield* recheck(context.facts));
    if ((yield* recheck(yield* analysisOf(changed))).some((finding) => !before.has(finding))) continue;
    fixes.push({
      title: say`Add "${wordsOf(rig, end)}" to ${start.name}, so that strokes repeat every ${formatTime(end.repeat)}`,
      edits: [{ at: expression.at, text: `${asOperand(expression.text, 'and')} ${wordsOf(rig, end)}` }],
    });
  }
  return fixes;
}
