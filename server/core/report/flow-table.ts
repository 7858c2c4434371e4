/** The facts about flow as text that a person reads, for `caisson flow`. */
import type { ChamberState, Filling, FlowFacts, KeepUp, StrokeFlow } from '../flow/facts';
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { StrokeFacts } from '../timing/facts';
import { formatAlike, formatCount, formatNumber, formatSi, formatTime } from '../units/units';
import { keepUpVerdict, outcomeText } from '../run/keep-up-words';
import { CAUTION } from './caution';
import { doorLines } from './door-table';
import { textTable } from './text-table';

/** Lines without line ends. */
export function flowTable(facts: RigFacts): string[] {
  const { rig, flow } = facts;
  const lines = [rig.title ? `${rig.name}: ${rig.title}` : rig.name];
  if (!flow) return [...lines, '', 'This rig moves no medium: it states none, or has no stack.'];
  for (const problem of flow.problems) lines.push('', `${problem.severity}: ${problem.message}`);
  if (!flow.medium) return [...lines, '', 'Flow is not computed.'];
  lines.push(
    '',
    `Medium: ${flow.medium.name}, ${flow.medium.title}`,
    assumption(rig, flow),
    '',
    ...chamberTable(rig, flow),
  );
  if (flow.lines.length > 0) lines.push('', ...lineTable(rig, flow));
  if (flow.strokes.length + flow.notComputed.length === 0) lines.push('', 'No sensor of this rig starts a stroke.');
  for (const stroke of flow.strokes) lines.push('', ...strokeLines(facts, flow, stroke));
  for (const { stroke, why } of flow.notComputed)
    lines.push('', `${strokeTitle(facts.timing.strokes[stroke]!)}: not computed: ${why}.`);
  if (flow.emptying) lines.push('', ...emptyingLines(rig, flow.emptying));
  if (flow.filling) lines.push('', ...fillingLines(rig, flow.filling));
  for (const doubt of flow.doubts) lines.push('', `Not to be relied on: ${doubt}`);
  return [...lines, '', CAUTION];
}

/** What the figures take for granted, in one line. */
function assumption(rig: Rig, { medium, strokes, detailNote }: FlowFacts): string {
  const measured = rig.stacks.some((stack) => stack.moves);
  const level =
    medium!.phase === 'packed' || (measured && strokes.length > 0 && rig.stacks.every((stack) => stack.moves))
      ? 'what is joined spreads evenly'
      : detailNote === ''
        ? openingsText(rig)
        : 'no opening is stated, so that joined spaces have one pressure at once';
  const walls = rig.chambers.some((c) => c.wall || c.coolsIn) ? '; walls take heat as stated' : '';
  return `Assumes: ${level}${walls}${leaksText(rig, medium!.phase)}. Strokes are the repeating stroke from the states named.`;
}

const hasOpening = (rig: Rig): boolean =>
  rig.doors.some((door) => door.area !== null || door.kv !== null || door.conductance !== null);

const openingsText = (rig: Rig): string =>
  hasOpening(rig)
    ? 'flow goes through the openings as stated, without pipes or pressure surges'
    : 'no opening is stated, so that joined spaces have one pressure at once';

const leaksText = (rig: Rig, phase: 'gas' | 'liquid' | 'packed'): string =>
  phase !== 'packed' && rig.doors.some((door) => door.leak !== null) ? '; shut doors leak as stated' : '';

const pressureText = (state: ChamberState): string =>
  state.pressure === null ? '-' : formatSi(state.pressure, 'pressure');

/** The figure by which a medium is judged, a liquid with its pressure. */
function shown(state: ChamberState): string {
  if (state.level !== null) return `${formatSi(state.level, 'length')} (${pressureText(state)})`;
  return state.pressure === null ? formatSi(state.density, 'density') : pressureText(state);
}

/** Two states of one chamber, in the same units. */
function shownPair(low: ChamberState, high: ChamberState): readonly [string, string] {
  const pressure = formatAlike([low.pressure, high.pressure], 'pressure');
  const level = formatAlike([low.level, high.level], 'length');
  const text = (state: ChamberState): string => {
    if (state.pressure === null) return formatSi(state.density, 'density');
    return state.level === null ? pressure(state.pressure) : `${level(state.level)} (${pressure(state.pressure)})`;
  };
  return [text(low), text(high)];
}

function chamberTable(rig: Rig, flow: FlowFacts): string[] {
  const liquid = flow.medium!.phase === 'liquid';
  const rows = [['chamber', 'volume', 'mass', 'density', 'pressure', ...(liquid ? ['level'] : []), 'limit']];
  const own = rig.chambers.flatMap((chamber, k) => (chamber.endless ? [] : [k]));
  const volumeText = formatAlike(
    own.map((k) => rig.chambers[k]!.volume?.nominal),
    'volume',
  );
  const massText = formatAlike(
    own.map((k) => flow.start[k]!.mass),
    'mass',
  );
  const levelText = formatAlike(
    own.map((k) => flow.start[k]!.level),
    'length',
  );
  rig.chambers.forEach((chamber, k) => {
    const state = flow.start[k]!;
    const { volume, limit } = chamber;
    if (chamber.endless) {
      rows.push([chamber.name, 'endless', '-', '-', pressureText(state), ...(liquid ? ['-'] : []), '-']);
      return;
    }
    rows.push([
      chamber.name,
      volume ? volumeText(volume.nominal) : '-',
      massText(state.mass),
      formatSi(state.density, 'density'),
      pressureText(state),
      ...(liquid ? [levelText(state.level ?? 0)] : []),
      limit ? formatSi(limit.value.nominal, limit.kind) : '-',
    ]);
  });
  return textTable(rows, ['left', ...rows[0]!.slice(1).map(() => 'right' as const)]);
}

function lineTable(rig: Rig, flow: FlowFacts): string[] {
  const rows = [['feed or draw', 'chamber', 'rate', 'lines needed', 'pumps needed']];
  const rateText = formatAlike(
    flow.lines.map(({ rate }) => rate),
    'mass_flow',
  );
  for (const { line, rate, lines, pumps } of flow.lines) {
    const { name, kind, chamber } = rig.lines[line]!;
    rows.push([
      `${kind} ${name}`,
      rig.chambers[chamber]?.name ?? '-',
      rate === null ? '-' : rateText(rate),
      lines === null ? '-' : String(lines),
      pumps === null ? '-' : String(pumps),
    ]);
  }
  const filled = withoutEmpty(rows);
  return textTable(filled, ['left', 'left', ...filled[0]!.slice(2).map(() => 'right' as const)]);
}

/** A rig that runs from power-on has no trigger to be named. */
const strokeTitle = ({ trigger }: StrokeFacts): string =>
  trigger.kind === 'power' ? 'One stroke of the rig running by itself' : `One stroke, started by ${trigger.name}`;

function strokeLines({ rig, timing }: RigFacts, flow: FlowFacts, whole: StrokeFlow): string[] {
  // What a stroke of one trigger leaves alone is said by the strokes that move it.
  const stroke = onlyMoved(rig, timing.strokes[whole.stroke]!, whole);
  const every = stroke.interval === null ? 'once' : `every ${formatTime(Math.round(stroke.interval * 1e6))}`;
  return [
    `${strokeTitle(timing.strokes[stroke.stroke]!)}, ${every}:`,
    '',
    ...stackTable(rig, flow, stroke),
    ...ceilingNotes(rig, stroke),
    ...trappedLines(rig, stroke, flow.medium!.mostPressure),
    ...detailLines(rig, flow, stroke),
    ...keepUpLines(rig, stroke),
    ...withGap(doorLines(rig, stroke, flow.medium!.mostPressure)),
    ...(isToldBefore(flow, whole) ? [] : withGap(energyLines(stroke, flow.filling))),
    ...stroke.withheld.map((text) => `  ${text[0]!.toUpperCase()}${text.slice(1)}.`),
  ];
}

/** The stroke with the stacks only whose doors it moves. */
function onlyMoved(rig: Rig, { doors }: StrokeFacts, stroke: StrokeFlow): StrokeFlow {
  const opens = new Set(doors.filter((d) => d.windows.length > 0).map((d) => d.door));
  const stacks = stroke.stacks.filter(
    ({ stack, atTrigger }) =>
      atTrigger !== 0 || rig.stacks[stack]!.members.some((m) => m.kind === 'door' && opens.has(m.index)),
  );
  return Object.create(stroke, { stacks: { value: stacks } }) as StrokeFlow;
}

/** Means of the followed run are those of the whole rig, whatever starts a stroke: they stand once. */
const isToldBefore = ({ strokes }: FlowFacts, stroke: StrokeFlow): boolean =>
  stroke.energy.obtained === 'followed' && strokes.find(({ energy }) => energy.obtained === 'followed') !== stroke;

const withGap = (lines: readonly string[]): string[] => (lines.length > 0 ? ['', ...lines] : []);

function stackTable(rig: Rig, flow: FlowFacts, stroke: StrokeFlow): string[] {
  const detail = flow.detail(stroke.stroke);
  const rows = [
    [
      'from',
      'to',
      'at start',
      'at trigger',
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
      massText(s.atTrigger),
      s.atLimit === null ? '-' : massText(s.atLimit),
      ...(detail ? [moved === undefined ? '-' : massText(moved)] : []),
      s.ceiling && !s.ceilingNote ? shown(s.ceiling) : '-',
    ]);
  }
  const filled = withoutEmpty(rows);
  return textTable(filled, ['left', 'left', ...filled[0]!.slice(2).map(() => 'right' as const)]);
}

/** Columns that have a figure in some row; a column of dashes says nothing about this rig. */
function withoutEmpty(rows: readonly string[][]): string[][] {
  const used = rows[0]!.map((_, column) => rows.slice(1).some((row) => row[column] !== '-'));
  return rows.map((row) => row.filter((_, column) => used[column]));
}

/** The same without columns that are nothing: what is not stated costs nothing here. */
function withoutZero(rows: readonly string[][]): string[][] {
  const used = rows[0]!.map((_, column) => column === 0 || rows.slice(1).some((row) => row[column] !== '0 J'));
  return rows.map((row) => row.filter((_, column) => used[column]));
}

const ceilingNotes = (rig: Rig, stroke: StrokeFlow): string[] =>
  stroke.stacks.flatMap(({ to, ceilingNote, atTrigger }) =>
    ceilingNote && atTrigger !== 0 ? [`  Ceiling of ${rig.chambers[to]!.name}: ${ceilingNote}.`] : [],
  );

/** No figure beyond what the law of the medium holds for. */
const squeezedText = (to: number, mostPressure: number): string =>
  to > mostPressure
    ? `, beyond ${formatSi(mostPressure, 'pressure')}, where the law of the medium ends`
    : `, up to ${formatSi(to, 'pressure')}`;

function trappedLines(rig: Rig, stroke: StrokeFlow, mostPressure: number): string[] {
  return stroke.trapped.map(({ doors, t, to }) => {
    const names = doors.map((door) => rig.doors[door]!.name).join(', ');
    const at = to === null ? '' : to === Infinity ? ', without bound' : squeezedText(to, mostPressure);
    return `  TRAPPED: the pocket of ${names} is squeezed with nowhere to go until ${formatTime(t)}${at}.`;
  });
}

function detailLines(rig: Rig, flow: FlowFacts, stroke: StrokeFlow): string[] {
  const detail = flow.detail(stroke.stroke);
  if (!detail) return flow.detailNote ? [`  Flow through the openings is not computed: ${flow.detailNote}.`] : [];
  return detail.shortFills.map(
    ({ door, t, fill }) =>
      `  SHORT FILL: ${rig.doors[door]!.name} shuts at ${formatTime(t)} with ${formatNumber(fill * 100)} % of the pressure behind it.`,
  );
}

const AT: Readonly<Record<KeepUp['at'], string>> = {
  limit: 'at its limit',
  threshold: 'at the trigger',
  start: 'as it starts',
};

function keepUpLines(rig: Rig, { keepUp, interval }: StrokeFlow): string[] {
  if (!keepUp) return [];
  const { feed, capacity, at, keeps, longestInterval, because } = keepUp;
  const name = rig.chambers[keepUp.chamber]!.name;
  const outcome = outcomeText(rig, keepUp);
  const rateText = formatAlike([feed, capacity], 'mass_flow');
  const lines = [
    '',
    `  ${name} gets ${rateText(feed)} while its feed runs; strokes take ${rateText(capacity)} from it ${AT[at]}.`,
    `  ${outcome ? `In the followed run ${outcome}` : 'The run was not followed'}: ${keepUpVerdict(keepUp)}.`,
  ];
  if (!(longestInterval > 0)) return [...lines, '  No interval would carry the feed without a stop.'];
  // An interval longer than the present one says nothing to a rig that already fails, nor a shorter one to a rig that a stop keeps.
  const matters = keeps
    ? longestInterval >= (interval ?? 0)
    : because?.kind === 'less' && longestInterval < (interval ?? 0);
  if (matters)
    lines.push(
      `  Longest interval that carries the feed without a stop: ${formatTime(Math.round(longestInterval * 1e3) * 1e3)}.`,
    );
  return lines;
}

function energyLines(stroke: StrokeFlow, filling: Filling | null): string[] {
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
  const where =
    obtained === 'followed' ? 'Means at the working point of the followed run' : 'For a stroke at the trigger';
  const lines = textTable(rows, ['left', ...rows[0]!.slice(1).map(() => 'right' as const)]);
  lines.push(
    back === null
      ? `  The work is not known: ${stroke.impossible}.`
      : `  ${where}; the work is gross: ${energy(back)} of it come back to the doors (net ${energy(net)}).`,
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

const COUNTED = 'once, by the larger of its stated power while moving and its work on the contents';

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
  return textTable(
    filled,
    filled[0]!.map(() => 'right' as const),
  );
}

function emptyingLines(rig: Rig, emptying: Filling): string[] {
  if (emptying.strokes === 0) return [];
  const last = emptying.points[emptying.points.length - 1]!;
  const own = rig.chambers.flatMap((chamber, k) => (chamber.endless ? [] : [k]));
  const massText = formatAlike(
    own.map((k) => last.mass[k]),
    'mass',
  );
  const left = own.map((k) => `${rig.chambers[k]!.name} ${massText(last.mass[k]!)}`).join(', ');
  const why: Readonly<Record<Filling['ended'], string>> = {
    stopped: 'no further stroke starts',
    steady: 'strokes move nothing more',
    round: 'it repeats without getting further',
    target: 'the target is reached',
    overfull: 'a chamber is fuller than it can be',
    left: `it is followed no further: ${emptying.left ?? 'it leaves the range of the law'}`,
    budget: 'it was followed no further',
    never: 'it never starts',
  };
  const after = `With nothing coming in or going out, from the trigger: after ${formatCount(emptying.strokes, 'stroke')} ${why[emptying.ended]}`;
  return [emptying.ended === 'left' ? `${after}.` : `${after}; left: ${left}.`];
}

/** Nothing is nothing, in the smallest unit. */
const energyText = (format: (joules: number) => string, joules: number | null): string =>
  joules === null ? 'not known' : joules === 0 ? '0 J' : format(joules);

/** Why energy has no figure a day; empty where that is plain (a rig that comes to a stop). */
const noDayText = (filling: Filling | null): string =>
  filling?.ended === 'left' && filling.left !== null ? `no figure a day: ${filling.left}` : '';

function dayText(gross: number, net: number | null): string {
  const format = formatAlike([gross, net], 'energy');
  return `${format(gross)} a day (net ${energyText(format, net)})`;
}

/** Rows of the table of a filling. */
const ROWS = 10;

function fillingLines(rig: Rig, filling: Filling): string[] {
  const lines = ['By itself, feeds and draws on, followed stroke by stroke:', ''];
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
    rows.push([
      formatTime(roundedTime(point.t)),
      String(point.strokes),
      ...chambers.map((k) => massText(point.mass[k]!)),
    ]);
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
    lines.push(`  ${rig.chambers[k]!.name}: from ${low} to ${high}${rising}.`);
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
