/** What one stroke moves, asks of its doors and costs, as text. */
import type { Filling, FlowFacts, KeepUp, StrokeFlow } from '../flow/facts';
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { keepUpVerdict, outcomeText } from '../run/keep-up-words';
import { triggerNames } from '../timing/alike';
import type { StrokeFacts } from '../timing/facts';
import { formatAlike, formatCount, formatNumber, formatSi, formatTime } from '../units/units';
import { doorLines } from './door-table';
import { shown } from './state-text';
import { textTable, withoutEmpty } from './text-table';

/** Whether flow goes through openings that the text states, so that it takes time. */
export const hasOpening = (rig: Rig): boolean =>
  rig.doors.some((door) => door.area !== null || door.kv !== null || door.conductance !== null);

/** What a stroke, or one that several triggers start alike, is called: a rig that runs from power-on has no trigger to be named. */
export const strokeTitle = (...strokes: readonly StrokeFacts[]): string =>
  strokes[0]?.trigger.kind === 'power'
    ? 'One stroke of the rig running by itself'
    : `One stroke, started by ${triggerNames(strokes)}`;

/** Whether a sensor starts it: only then do the contents that start it differ from those at the start. */
export const isSensed = (rig: Rig, { sensor }: StrokeFacts): boolean => rig.sensors[sensor] !== undefined;

/** The contents at which a stroke is looked at. */
const contentsText = (rig: Rig, stroke: StrokeFacts): string =>
  isSensed(rig, stroke) ? 'at the trigger' : 'from the contents at the start';

/** What is said of one stroke; lines without line ends. */
export interface StrokeLines {
  /** Of this stroke alone, to follow its title and a comma. */
  readonly figures: readonly string[];
  /** Its energy, or that of the whole rig where the rig was followed: then only with the first stroke. */
  readonly energy: readonly string[];
  /** Why figures are missing. */
  readonly withheld: readonly string[];
  /** Whether another stroke with the same figures is described by the same lines. */
  readonly isEnergyOfRig: boolean;
}

export function strokeLines({ rig, timing }: RigFacts, flow: FlowFacts, stroke: StrokeFlow): StrokeLines {
  const facts = timing.strokes[stroke.stroke]!;
  const at = contentsText(rig, facts);
  const every = stroke.interval === null ? 'once' : `every ${formatTime(Math.round(stroke.interval * 1e6))}`;
  return {
    figures: [
      `${every}:`,
      '',
      ...stackTable(rig, flow, stroke, isSensed(rig, facts)),
      ...ceilingNotes(rig, stroke),
      ...trappedLines(rig, stroke, flow.medium!.mostPressure),
      ...detailLines(rig, flow, stroke),
      ...keepUpLines(rig, stroke),
      ...withGap(doorLines(rig, stroke, flow.medium!, at)),
    ],
    energy: isToldBefore(flow, stroke) ? [] : withGap(energyLines(stroke, flow.filling, at)),
    withheld: stroke.withheld.map((text) => `  ${text[0]!.toUpperCase()}${text.slice(1)}.`),
    isEnergyOfRig: stroke.energy.obtained === 'followed',
  };
}

/** Means of the followed run are those of the whole rig, whatever starts a stroke: they stand once. */
const isToldBefore = ({ strokes }: FlowFacts, stroke: StrokeFlow): boolean =>
  stroke.energy.obtained === 'followed' && strokes.find(({ energy }) => energy.obtained === 'followed') !== stroke;

const withGap = (lines: readonly string[]): string[] => (lines.length > 0 ? ['', ...lines] : []);

function stackTable(rig: Rig, flow: FlowFacts, stroke: StrokeFlow, sensed: boolean): string[] {
  const detail = flow.detail(stroke.stroke);
  const rows = [
    [
      'from',
      'to',
      'at start',
      ...(sensed ? ['at trigger'] : []),
      'at limit',
      ...(detail ? [hasOpening(rig) ? 'if at once' : 'if tight'] : []),
      'ceiling',
    ],
  ];
  const atOnce = (stack: number): number | undefined => detail?.stacks.find((d) => d.stack === stack)?.balance;
  const massText = formatAlike(
    stroke.stacks.flatMap((s) => [s.atStart, s.atTrigger, s.atLimit, atOnce(s.stack)]),
    'mass',
  );
  for (const s of stroke.stacks) {
    const moved = atOnce(s.stack);
    rows.push([
      rig.chambers[s.from]!.name,
      rig.chambers[s.to]!.name,
      s.atStart === null ? '-' : massText(s.atStart),
      ...(sensed ? [massText(s.atTrigger)] : []),
      s.atLimit === null ? '-' : massText(s.atLimit),
      ...(detail ? [moved === undefined ? '-' : massText(moved)] : []),
      s.ceiling && !s.ceilingNote ? shown(s.ceiling) : '-',
    ]);
  }
  const filled = withoutEmpty(rows);
  return textTable(filled, ['left', 'left', ...filled[0]!.slice(2).map(() => 'right' as const)]);
}

/** The same without columns that are nothing: what is not stated costs nothing here. */
function withoutZero(rows: readonly string[][]): string[][] {
  const used = rows[0]!.map((_, column) => column === 0 || rows.slice(1).some((row) => row[column] !== '0 J'));
  return rows.map((row) => row.filter((_, column) => used[column]));
}

/** What is said of ceilings, once of a chamber that several stacks fill. */
const ceilingNotes = (rig: Rig, stroke: StrokeFlow): string[] => [
  ...new Set(
    stroke.stacks.flatMap(({ to, ceilingNote, atTrigger }) =>
      ceilingNote && atTrigger !== 0 && !rig.chambers[to]!.endless
        ? [`  Ceiling of ${rig.chambers[to]!.name}: ${ceilingNote}.`]
        : [],
    ),
  ),
];

/** No figure beyond what the law of the medium holds for. */
const squeezedText = (to: number, mostPressure: number): string =>
  to > mostPressure
    ? `, beyond ${formatSi(mostPressure, 'pressure')}, where the law of the medium ends`
    : `, up to ${formatSi(to, 'pressure')}`;

function trappedLines(rig: Rig, stroke: StrokeFlow, mostPressure: number): string[] {
  return stroke.trapped.map(({ doors, t, to }) => {
    const names = doors.map((door) => rig.doors[door]!.name).join(', ');
    const at = to === null ? '' : to === Infinity ? ', without bound' : squeezedText(to, mostPressure);
    return `  TRAPPED: the pocket of ${names} is squeezed with nowhere to go until ${formatTime(toMillis(t))}${at}.`;
  });
}

/** µs to the millisecond. */
const toMillis = (t: number): number => Math.max(1000, Math.round(t / 1000) * 1000);

function detailLines(rig: Rig, flow: FlowFacts, stroke: StrokeFlow): string[] {
  const detail = flow.detail(stroke.stroke);
  if (!detail) return [];
  return detail.shortFills.map(({ door, t, kind, fill }) => {
    const percent = `${formatNumber(fill * 100)} %`;
    const early =
      kind === 'fill'
        ? `before what flows through it has filled the space behind: to ${percent} of the pressure before it`
        : `before its pocket has emptied: it has pushed out ${percent} of what it should`;
    return `  SHORT FILL: ${rig.doors[door]!.name} shuts at ${formatTime(toMillis(t))} ${early}.`;
  });
}

const AT: Readonly<Record<KeepUp['at'], string>> = {
  limit: 'at its limit',
  threshold: 'at the trigger',
  start: 'while it holds what it does at the start',
};

function keepUpLines(rig: Rig, { keepUp, interval }: StrokeFlow): string[] {
  if (!keepUp) return [];
  const { feed, capacity, at, keeps, longestInterval, because } = keepUp;
  const name = rig.chambers[keepUp.chamber]!.name;
  const outcome = outcomeText(rig, keepUp);
  const rateText = formatAlike([feed, capacity], 'mass_flow');
  // Through a path straight through, or a door left open, strokes bring back more than they take.
  const taken =
    capacity < 0 ? `strokes bring ${rateText(-capacity)} back to it` : `strokes take ${rateText(capacity)} from it`;
  const lines = [
    '',
    `  ${name} gets ${rateText(feed)} while its feed runs; ${taken} ${AT[at]}.`,
    `  ${outcome ? `In the followed run ${outcome}` : 'The run was not followed'}: ${keepUpVerdict(rig, keepUp)}.`,
  ];
  if (!(longestInterval > 0))
    return [...lines, '  However short the interval, strokes do not carry what the feed brings.'];
  // An interval longer than the present one says nothing to a rig that already fails, nor a shorter one to a rig that a stop keeps.
  const matters = keeps
    ? longestInterval >= (interval ?? 0)
    : because?.kind === 'less' && longestInterval < (interval ?? 0);
  if (matters)
    lines.push(
      `  Longest interval that carries the feed without a stop: ${formatTime(fourDigitsDown(longestInterval))}.`,
    );
  return lines;
}

/** µs of a time that must not be exceeded, s, to four digits. */
function fourDigitsDown(seconds: number): number {
  const unit = 10 ** Math.max(0, Math.floor(Math.log10(seconds * 1e6)) - 3);
  return Math.floor((seconds * 1e6) / unit) * unit;
}

function energyLines(stroke: StrokeFlow, filling: Filling | null, at: string): string[] {
  const { obtained, perStroke, perKg, perDay, netPerDay, peakPower, longer } = stroke.energy;
  const { doorsMoving, doorsHolding, compression, back, net, pumps, drives, total, compressionAtLimit } = perStroke;
  const joules = formatAlike(
    [doorsMoving, doorsHolding, compression, pumps, total, back, net, compressionAtLimit],
    'energy',
  );
  const energy = (value: number | null): string => energyText(joules, value);
  const rows = withoutZero([
    ['energy', 'doors moving', 'doors held', 'work on the contents', 'feeds and draws', 'total'],
    ['per stroke', energy(doorsMoving), energy(doorsHolding), energy(compression), energy(pumps), energy(total)],
  ]);
  if (rows[0]!.length === 1) return [];
  const where = obtained === 'followed' ? meansText(filling) : `For a stroke ${at}`;
  const lines = textTable(rows, ['left', ...rows[0]!.slice(1).map(() => 'right' as const)]);
  lines.push(
    back === null
      ? `  The work is not known: ${stroke.impossible}.`
      : back === 0
        ? `  ${where}.`
        : `  ${where}; the work is gross; opening doors get ${energy(back)} back from the contents (net ${energy(net)}).`,
  );
  if (drives !== null && doorsMoving > 0 && compression! > 0)
    lines.push(
      `  In the total the drive of a door does its work: each door counts ${COUNTED}, ${energy(drives)} together.`,
    );
  if (compressionAtLimit !== null)
    lines.push(`  Work of a stroke with the store at its limit: ${energy(compressionAtLimit)}.`);
  const parts = [
    perKg === null || perKg === 0 ? '' : `${formatSi(perKg, 'specific_energy')} moved`,
    perDay === null ? noDayText(filling) : perDay === 0 ? '' : dayText(perDay, netPerDay),
    peakPower === 0 ? 'no powers are stated' : `stated powers of at most ${formatSi(peakPower, 'power')} at a moment`,
  ];
  const text = parts.filter((p) => p !== '').join('; ');
  lines.push(`  ${text[0]!.toUpperCase()}${text.slice(1)}.`);
  if (longer.length > 0 && (doorsMoving + doorsHolding > 0 || longer.some((l) => l.peak)))
    lines.push('', ...longerTable(stroke));
  return lines;
}

const COUNTED = 'once, by its stated power times the time it moves or its work on the contents, whichever is larger';

function longerTable(stroke: StrokeFlow): string[] {
  const rows = [['interval', 'doors per day', 'fed chamber before a stroke']];
  const joules = formatAlike(
    stroke.energy.longer.map(({ doorsPerDay }) => doorsPerDay),
    'energy',
  );
  for (const { interval, doorsPerDay, peak, beyond } of stroke.energy.longer) {
    const state = peak ? shown(peak) : (beyond ?? '-');
    rows.push([formatTime(Math.round(interval * 1e6)), doorsPerDay > 0 ? joules(doorsPerDay) : '-', state]);
  }
  const filled = withoutEmpty(rows);
  const [first, last] = [filled[1]!, filled.at(-1)!];
  // The same at every interval is one sentence.
  if (filled[0]!.length === 2 && filled[0]![1] === rows[0]![2] && filled.slice(1).every((row) => row[1] === first[1]))
    return [`  At intervals from ${first[0]} to ${last[0]} the fed chamber holds ${first[1]} before a stroke.`];
  return textTable(
    filled,
    filled[0]!.map(() => 'right' as const),
  );
}

/** What means are taken over: one period of the working point, or its last strokes. */
function meansText(filling: Filling | null): string {
  const { strokes, seconds } = filling!.working!;
  return `Means over ${formatCount(strokes, 'stroke')} (${formatTime(Math.round(seconds * 10) * 1e5)}) at the working point of the followed run`;
}

/** Nothing is nothing, in the smallest unit. */
const energyText = (format: (joules: number) => string, joules: number | null): string =>
  joules === null ? 'not known' : joules === 0 ? '0 J' : format(joules);

/** Why energy has no figure a day; empty where that is plain (a rig that comes to a stop). */
const noDayText = (filling: Filling | null): string =>
  filling?.ended === 'left' && filling.left !== null ? `no figure a day: ${filling.left}` : '';

function dayText(gross: number, net: number | null): string {
  const format = formatAlike([gross, net], 'energy');
  return net === gross ? `${format(gross)} a day` : `${format(gross)} a day (net ${energyText(format, net)})`;
}
