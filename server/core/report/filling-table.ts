/** The rig followed stroke by stroke, filling by itself or emptying, as text. */
import type { Filling } from '../flow/facts';
import type { Rig } from '../model/rig';
import { formatAlike, formatCount, formatSi, formatTime } from '../units/units';
import { shownPair } from './state-text';
import { textTable } from './text-table';

/** What strokes leave where nothing comes in or goes out; lines without line ends. `sensed`: a sensor starts them. */
export function emptyingLines(rig: Rig, emptying: Filling, sensed: boolean): string[] {
  // Without feeds and draws, and from the same contents, it is what the rig does by itself.
  if (emptying.strokes === 0 || (!sensed && rig.lines.length === 0)) return [];
  const last = emptying.points[emptying.points.length - 1]!;
  const own = rig.chambers.flatMap((chamber, k) => (chamber.endless ? [] : [k]));
  const massText = formatAlike(
    own.map((k) => last.mass[k]),
    'mass',
  );
  const left = own.map((k) => `${rig.chambers[k]!.name} ${massText(last.mass[k]!)}`).join(', ');
  const why: Readonly<Record<Filling['ended'], string>> = {
    stopped: 'no further stroke starts',
    steady: 'nothing more is moved',
    round: 'it repeats without getting further',
    target: 'the target is reached',
    overfull: 'a chamber is fuller than it can be',
    left: `it is followed no further: ${emptying.left ?? 'it leaves the range of the law'}`,
    budget: 'it was followed no further',
    never: 'it never starts',
  };
  const after = `With nothing coming in or going out, from the ${sensed ? 'trigger' : 'start'}: after ${formatCount(emptying.strokes, 'stroke')} ${why[emptying.ended]}`;
  return [emptying.ended === 'left' ? `${after}.` : `${after}; left: ${left}.`];
}

/** Rows of the table of a filling. */
const ROWS = 10;

/** Contents over time, and how it ends; lines without line ends. */
export function fillingLines(rig: Rig, filling: Filling): string[] {
  const on = rig.lines.length > 0 ? ', feeds and draws on' : '';
  if (filling.ended === 'never' && filling.seconds === 0) return [`By itself${on}: no stroke ever starts.`];
  const lines = [`By itself${on}, followed stroke by stroke:`, ''];
  const stacks = new Set(rig.stacks.flatMap((s) => s.members.filter((m) => m.kind === 'chamber').map((m) => m.index)));
  // The atmosphere has no contents of its own.
  const chambers = [...stacks].filter((k) => !rig.chambers[k]!.endless);
  const rows = [['time', 'strokes', ...chambers.map((k) => rig.chambers[k]!.name)]];
  const points = spread(filling.points, ROWS);
  const massText = formatAlike(
    points.flatMap((point) => chambers.map((k) => point.mass[k])),
    'mass',
  );
  for (const point of points) {
    const row = [
      formatTime(roundedTime(point.t)),
      String(point.strokes),
      ...chambers.map((k) => massText(point.mass[k]!)),
    ];
    // Points closer together than can be read are one row.
    if (row.some((cell, column) => cell !== rows.at(-1)![column])) rows.push(row);
  }
  lines.push(
    ...textTable(
      rows,
      rows[0]!.map(() => 'right' as const),
    ),
    '',
  );
  const ends: Readonly<Record<Filling['ended'], string>> = {
    stopped: 'Then no further stroke starts.',
    steady: 'Then nothing changes any more from stroke to stroke.',
    round: 'It stops and starts from then on between the same values.',
    target: 'The target is reached.',
    overfull:
      'Nothing stops it: a chamber holds twice its limit, or more than it has room for, and it was followed no further.',
    left: `It ends there: ${filling.left ?? 'the range of the law is left'}.`,
    budget: `It goes on; it was followed for ${formatCount(filling.strokes, 'stroke')}.`,
    never: 'No stroke ever starts.',
  };
  lines.push(...milestoneLines(rig, filling), `  ${ends[filling.ended]}`);
  for (const k of chambers) {
    const rising = filling.rising.includes(k) ? ', AND RISING: it goes on being fed, and nothing stops the feed' : '';
    const [low, high] = shownPair(filling.lowest[k]!, filling.highest[k]!);
    const last = filling.points.at(-1)!.mass[k]!;
    const empty = last === 0 && filling.points[0]!.mass[k]! > 0 ? '; EMPTY in the end' : '';
    lines.push(`  ${rig.chambers[k]!.name}: from ${low} to ${high}${rising}${empty}.`);
    const over = filling.overLimit[k];
    if (over)
      lines.push(
        `  OVER LIMIT: ${rig.chambers[k]!.name} after ${formatCount(over.strokes, 'stroke')}, ${formatTime(roundedTime(over.t))}.`,
      );
  }
  return lines;
}

/** About `rows` points, evenly spread over those there are, the first and the last among them. */
function spread<T>(points: readonly T[], rows: number): T[] {
  const step = Math.max(1, (points.length - 1) / rows);
  const kept: T[] = [];
  for (let at = 0; at <= points.length - 1 + 1e-9; at += step) kept.push(points[Math.round(at)]!);
  return kept;
}

/** µs to the second, in the first minute to a tenth of one. */
const roundedTime = (t: number): number => {
  const unit = t < 60e6 ? 1e5 : 1e6;
  return Math.round(t / unit) * unit;
};

/** It was not followed to an end of its own. */
const isCut = ({ ended }: Filling): boolean => ended === 'budget' || ended === 'left';

/** Strokes and time to limits and thresholds. */
function milestoneLines(rig: Rig, filling: Filling): string[] {
  return filling.milestones.map(({ chamber, sensor, kind, value, reached }) => {
    const what = sensor === null ? 'its limit' : rig.sensors[sensor]!.name;
    const at = `${formatSi(value, kind === 'level' ? 'length' : kind)} (${what})`;
    const name = rig.chambers[chamber]!.name;
    if (!reached) return `  ${name} does not reach ${at}${isCut(filling) ? ' in the strokes followed' : ''}.`;
    return `  ${name} reaches ${at} after ${formatCount(reached.strokes, 'stroke')}, ${formatTime(roundedTime(reached.t))}.`;
  });
}
