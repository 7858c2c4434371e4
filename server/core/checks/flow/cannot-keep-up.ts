/** `flow/cannot-keep-up`: a feed brings more than is carried off: strokes take less, stop, come late, or it stays further on. */
import { preparedStrokes, strokesPrepared } from './prepared';
import { strokeCourses } from '../../timing/course';
import { secondOpening } from '../../metrics/timing/repeat';
import type { KeepUp } from '../../flow/facts';
import type { Problem, Repair } from '../../model/problem';
import type { Rig } from '../../model/rig';
import { outcomeText } from '../../run/keep-up-words';
import { timesOf } from '../../choose/part';
import type { Goal } from '../../choose/search';
import { formatSi, formatTime } from '../../units/units';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found } from '../check';
import { presetFixes } from '../repair/preset-fix';
import { say } from '../../words/say';

export const cannotKeepUp: Check = {
  code: 'flow/cannot-keep-up',
  title: 'Feed brings more than is carried off',
  severity: 'warning',
  explanation:
    'With the fed chamber at its `limit`, strokes take away less per second than its feeds (less its draws) bring: it goes over the limit, or overflows. Shorten the interval between strokes (the longest that still does is named), make the pockets larger, or feed less. Where strokes take enough while they run, but stop with the feed on or come too late, that is reported instead. Where they take what arrives but it stays in a chamber further on, from which less is drawn, that is reported with the rate at which everything rises: information, or a warning where a limit is passed in the end. A chamber that settles in the followed run is not reported. Not reported where every feed of the chamber runs `only below` something: it waits for the strokes (`flow/over-limit` reports whether that is low enough).',
  prepare: preparedStrokes('keepUp'),
  run: (context) =>
    (context.facts.flow?.strokes ?? []).flatMap((stroke) => {
      const { keepUp } = stroke;
      return keepUp && keepUp.keeps === false && keepUp.capacity > 0 && !stopsItself(context.rig, keepUp.chamber)
        ? [problem(context, stroke.stroke, stroke.interval ?? 0, keepUp)]
        : [];
    }),
};

/** Every feed into the chamber runs only below some state of it, so it waits for the strokes. */
function stopsItself(rig: Rig, chamber: number): boolean {
  const feeds = rig.lines.filter((line) => line.kind === 'feed' && line.chamber === chamber);
  return feeds.length > 0 && feeds.every((feed) => feed.only?.side === 'below');
}

function problem(context: CheckContext, stroke: number, interval: number, keepUp: KeepUp): Problem {
  const { rig } = context;
  const chamber = rig.chambers[keepUp.chamber]!;
  const where =
    keepUp.at === 'limit'
      ? say`at its limit`
      : keepUp.at === 'threshold'
        ? say`at the threshold that starts a stroke`
        : say`while it holds what it does at the start`;
  const because = keepUp.because!;
  const isPassedOn = because.kind === 'not-drawn' || because.kind === 'drawn-less';
  const serious = !isPassedOn || Boolean(keepUp.rise?.limit);
  const rates = say`${chamber.name} gets ${formatSi(keepUp.feed, 'mass_flow')} and strokes every ${seconds(interval)} take ${formatSi(keepUp.capacity, 'mass_flow')} from it ${where}`;
  const message = say`${rates}. In the followed run ${outcomeText(rig, keepUp) ?? ''}. ${adviceText(rig, interval, keepUp)}`;
  const feeds = rig.lines.filter((line) => line.kind === 'feed' && line.chamber === keepUp.chamber);
  return found(
    cannotKeepUp,
    chamber.at,
    message,
    { chambers: [keepUp.chamber] },
    {
      severity: serious ? 'warning' : 'information',
      related: feeds.map((line) => ({ at: line.at, message: say`feeds it` })),
      ...(serious ? { repair: () => fixesOf(context, stroke, interval, keepUp) } : {}),
    },
  );
}

const seconds = (s: number): string => formatTime(Math.round(s * 1000) * 1000);

/** What to do about it. */
function adviceText(rig: Rig, interval: number, { because, chamber, longestInterval }: KeepUp): string {
  const fed = rig.chambers[chamber]!.name;
  const stop = say`let its feed run \`only below\` a pressure or a level of ${fed}`;
  if (because!.kind === 'stopped') return say`Stop the feed with the strokes, or ${stop}.`;
  if (because!.kind === 'late') return say`Start strokes earlier or closer together, or ${stop}.`;
  const end = rig.chambers[because!.chamber]!.name;
  if (because!.kind !== 'less') return say`Draw as much from ${end} as arrives, or ${stop}.`;
  if (!(longestInterval > 0)) return say`Strokes take nothing from it there.`;
  return longestInterval < interval
    ? say`An interval of ${seconds(longestInterval)} is short enough.`
    : say`Feed less, or ${stop}.`;
}

/** Shortens what decides the interval by as much as is too long. */
function* fixesOf(context: CheckContext, stroke: number, interval: number, keepUp: KeepUp): Work<Repair[]> {
  const course = strokeCourses(context.facts)[stroke];
  const again = course && secondOpening(course);
  if (!again || keepUp.longestInterval >= interval) return [];
  const less = Math.ceil((interval - keepUp.longestInterval) * 1e6);
  const candidates = timesOf(context.rig, again, 'opens').map((literal) => ({ literal, value: literal.value - less }));
  const goal: Goal = (facts) => (facts.flow?.strokes ?? []).every((s) => s.keepUp === null || s.keepUp.keeps !== false);
  return yield* presetFixes(
    context,
    candidates,
    goal,
    say`so that strokes keep up with the feed of ${context.rig.chambers[keepUp.chamber]!.name}`,
    (facts) => strokesPrepared(facts, 'keepUp'),
  );
}
