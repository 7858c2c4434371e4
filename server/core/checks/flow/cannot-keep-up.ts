/** `flow/cannot-keep-up`: the feed brings more than the strokes take away. */
import { preparedStrokes, strokesPrepared } from './prepared';
import { strokeCourses } from '../../timing/course';
import { secondOpening } from '../../metrics/timing/repeat';
import type { KeepUp } from '../../flow/facts';
import { fullMass } from '../../flow/vessel';
import type { Fix, Problem } from '../../model/problem';
import type { Rig } from '../../model/rig';
import { quickRun } from '../../run/scenario-run';
import { timesOf } from '../../choose/part';
import type { Goal } from '../../choose/search';
import { formatSi, formatTime } from '../../units/units';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found } from '../check';
import { presetFixes } from '../repair/preset-fix';

export const cannotKeepUp: Check = {
  code: 'flow/cannot-keep-up',
  title: 'Strokes do not keep up with the feed',
  severity: 'warning',
  explanation:
    'With the fed chamber at its `limit`, strokes take away less per second than its feeds (less its draws) bring: it goes over the limit, or overflows. Shorten the interval between strokes (the longest that still does is named), make the pockets larger, or feed less. For a chamber without a limit it is information only, with the state it settles at: a gas is moved the faster the denser it is. Not reported where every feed of the chamber runs `only below` something: it waits for the strokes (whether that is low enough, `flow/over-limit` tells).',
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
      ? 'at its limit'
      : keepUp.at === 'threshold'
        ? 'at the threshold that starts a stroke'
        : 'as it starts';
  const settles = settlesText(rig, keepUp);
  const serious = keepUp.at === 'limit' || settles === null;
  const message =
    `${chamber.name} gets ${formatSi(keepUp.feed, 'mass_flow')} and strokes every ${seconds(interval)} take ${formatSi(keepUp.capacity, 'mass_flow')} from it ${where}: ` +
    (serious ? `it fills up. An interval of ${seconds(keepUp.longestInterval)} would do.` : settles);
  const feeds = rig.lines.filter((line) => line.kind === 'feed' && line.chamber === keepUp.chamber);
  return found(cannotKeepUp, chamber.at, message, {
    severity: serious ? 'warning' : 'information',
    related: feeds.map((line) => ({ at: line.at, message: 'feeds it' })),
    ...(serious ? { repair: () => fixesOf(context, stroke, interval, keepUp) } : {}),
  });
}

const seconds = (s: number): string => formatTime(Math.round(s * 1000) * 1000);

/** Where a gas settles; null where it does not, or a liquid overflows. */
function settlesText(rig: Rig, { settlesAt, chamber }: KeepUp): string | null {
  const model = quickRun(rig)?.model;
  if (!settlesAt || !model) return null;
  if (model.law.phase === 'liquid') {
    return settlesAt.mass > fullMass(model.law, model.vessels[chamber]!)
      ? null
      : `it settles at a level of ${formatSi(settlesAt.level!, 'length')}.`;
  }
  const at =
    settlesAt.pressure === null ? formatSi(settlesAt.density, 'density') : formatSi(settlesAt.pressure, 'pressure');
  return `it settles at ${at} instead.`;
}

/** Shortens what decides the interval by as much as is too long. */
function* fixesOf(context: CheckContext, stroke: number, interval: number, keepUp: KeepUp): Work<Fix[]> {
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
    `so that strokes keep up with the feed of ${context.rig.chambers[keepUp.chamber]!.name}`,
    (facts) => strokesPrepared(facts, 'keepUp'),
  );
}
