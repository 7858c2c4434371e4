/** The sizes that reach a target, as a readable table and as plain data. */
import type { SizeAnswer, SizeRow } from '../choose/size/size';
import { dimensionOf } from '../choose/size/why-not';
import { sensedIn } from '../choose/size/reach';
import { formatAlike, formatCount, formatNumber, formatSi, formatTime } from '../units/units';
import { caution } from './caution';
import { textTable } from './text-table';

/** To a tenth of a second: a followed run is good to one stroke. */
const seconds = (value: number): string => formatTime(Math.round(value * 10) * 100_000);

export function sizeReport(answer: SizeAnswer): string[] {
  const { rig, target, rows, why, openingsAlone, ended } = answer;
  const chamber = rig.chambers[target.chamber]!.name;
  const lines = [
    rig.title ? `${rig.name}: ${rig.title}` : rig.name,
    '',
    `  Wanted: ${chamber} at ${formatSi(target.value, dimensionOf(target))} in ${seconds(target.within)}. As it is: ${nowText(answer)}.`,
    '',
  ];
  if (rows.length === 0 && ended !== null) lines.push('  Not decided: nothing that was tried reaches it.');
  else if (rows.length === 0) lines.push('  Not reachable:', ...why.map((w) => `    ${w}`));
  else lines.push(...sizeTable(answer), '', ...notes(answer));
  if (openingsAlone !== null)
    lines.push(`  Openings ${formatNumber(openingsAlone)} times as large would do it with nothing else changed.`);
  if (ended !== null) lines.push(`  ${ended}`);
  return [...lines, '', `  ${caution()}`];
}

function nowText({ now, target }: SizeAnswer): string {
  if (now.seconds !== null) return `${seconds(now.seconds)}, after ${formatCount(now.strokes, 'stroke')}`;
  const nearest = sensedIn(now.nearest, target.sensed);
  return `${nearest === null ? 'never' : formatSi(nearest, dimensionOf(target))} after ${seconds(now.followed)} and ${formatCount(now.strokes, 'stroke')}`;
}

function sizeTable({ rig, rows, screw }: SizeAnswer): string[] {
  const feeds = rig.lines.flatMap((line, k) => (line.kind === 'feed' ? [{ line, k }] : []));
  const head = [
    ...(screw ? ['every'] : []),
    'pockets',
    ...(hasOpenings(rows) ? [openingHead(rig)] : []),
    ...feeds.map(({ line }) => `feed ${line.name}`),
    ...feeds.flatMap(({ line }) => [
      ...(line.lineLimit ? [`lines ${line.name}`] : []),
      ...(line.pumpLimit ? [`pumps ${line.name}`] : []),
    ]),
    'strokes',
    'there after',
    'breaks',
  ];
  const cells = rows.map((row) => [
    ...(screw ? [formatTime(row.choice.interval ?? screw.now)] : []),
    pocketText(row),
    ...(hasOpenings(rows) ? [openingText(row)] : []),
    ...feeds.map(({ k }) => feedText(row, k)),
    ...feeds.flatMap(({ line, k }) => {
      const feed = row.feeds.find((f) => f.line === k);
      return [
        ...(line.lineLimit ? [`${feed?.lines ?? '-'}`] : []),
        ...(line.pumpLimit ? [`${feed?.pumps ?? '-'}`] : []),
      ];
    }),
    `${row.strokes}`,
    seconds(row.seconds),
    row.breaks.length === 0 ? '-' : row.breaks.map((r) => r.text).join('; '),
  ]);
  return textTable([head, ...cells], [...head.slice(1).map(() => 'right' as const), 'left']);
}

const hasOpenings = (rows: readonly SizeRow[]): boolean =>
  rows.some(({ rig }) => rig.doors.some((d) => d.area ?? d.kv ?? d.conductance));

const openingHead = ({ doors }: SizeAnswer['rig']): string => (doors.some((d) => d.area) ? 'bore' : 'openings');

/** Each different pocket once: `310 L`. */
function pocketText({ rig, choice }: SizeRow): string {
  const pockets = [...new Set(rig.doors.flatMap((d) => (d.pocket ? [d.pocket.nominal] : [])))];
  if (pockets.length === 0) return `x ${formatNumber(choice.pocket)}`;
  return pockets.map(formatAlike(pockets, 'volume')).join(', ');
}

function openingText({ rig, choice }: SizeRow): string {
  const bores = [...new Set(rig.doors.flatMap((d) => (d.area ? [Math.sqrt((4 * d.area.nominal) / Math.PI)] : [])))];
  return bores.length > 0
    ? bores.map((b) => `${formatNumber(Math.round(b * 1e6) / 1e3)} mm`).join(', ')
    : `x ${formatNumber(choice.opening)}`;
}

function feedText({ feeds, choice }: SizeRow, line: number): string {
  const rate = feeds.find((f) => f.line === line)?.rate ?? null;
  return rate === null ? `x ${formatNumber(choice.feed)}` : formatSi(rate, 'mass_flow');
}

function notes({ screw, rig, rows }: SizeAnswer): string[] {
  const lines = [
    '  Every row was followed by the flow engine with the figures it shows; its pockets are the smallest that were found, rounded up.',
  ];
  const bores = hasOpenings(rows) ? ', and openings so that they fill in the same time' : '';
  lines.push(`  Clearances grow with the pockets${bores}. What is not in the table stays as it is.`);
  if (screw)
    lines.push(
      `  The interval is set by ${screw.literal.name}: ${formatTime(screw.literal.value)} now, for ${formatTime(screw.now)}.`,
    );
  else lines.push('  No time of the text sets the interval between strokes alone, so it stays as it is.');
  if (
    !rig.lines.some((l) => l.kind === 'feed' && (l.lineLimit ?? l.pumpLimit)) &&
    rig.lines.some((l) => l.kind === 'feed')
  )
    lines.push('  State line_limit and pump_limit of the feeds to see how many lines and pumps they need.');
  return lines;
}

/** Times in seconds, everything else in SI units. */
export function sizeJson(answer: SizeAnswer): object {
  const { rig, target, now, rows, why, screw, openingsAlone, ended } = answer;
  return {
    name: rig.name,
    target: {
      chamber: rig.chambers[target.chamber]!.name,
      sensed: target.sensed,
      value: target.value,
      within: target.within,
    },
    now: { reached: now.seconds, strokes: now.strokes, nearest: sensedIn(now.nearest, target.sensed) },
    interval: screw && { setBy: screw.literal.name, preset: screw.literal.value / 1e6, now: screw.now / 1e6 },
    rows: rows.map((row) => ({
      interval: row.choice.interval === null ? null : row.choice.interval / 1e6,
      preset:
        screw && row.choice.interval !== null ? (screw.literal.value + row.choice.interval - screw.now) / 1e6 : null,
      pocketFactor: row.choice.pocket,
      openingFactor: row.choice.opening,
      feedFactor: row.choice.feed,
      doors: row.rig.doors.map((d) => ({
        name: d.name,
        pocket: d.pocket?.nominal ?? null,
        clearance: d.clearance?.nominal ?? null,
        area: d.area?.nominal ?? null,
      })),
      feeds: row.feeds.map((f) => ({ name: rig.lines[f.line]!.name, rate: f.rate, lines: f.lines, pumps: f.pumps })),
      strokes: row.strokes,
      seconds: row.seconds,
      breaks: row.breaks.map((r) => r.text),
    })),
    openingsAlone,
    why,
    ended,
  };
}
