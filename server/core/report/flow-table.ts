/** The facts about flow as text that a person reads, for `caisson flow`. */
import type { FlowFacts } from '../flow/facts';
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { StrokeFacts } from '../timing/facts';
import { formatAlike, formatSi } from '../units/units';
import { caution } from './caution';
import { emptyingLines, fillingLines } from './filling-table';
import { pressureText } from './state-text';
import { hasOpening, isSensed, type StrokeLines, strokeLines, strokeTitle } from './stroke-table';
import { noStroke } from '../timing/no-stroke';
import { openedByTwo, twoChangesText } from '../timing/two-changes';
import { textTable, withoutEmpty } from './text-table';

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
  if (flow.strokes.length + flow.notComputed.length === 0)
    lines.push('', noStroke(rig.name, facts.timing, 'No sensor of this rig starts a stroke.'));
  lines.push(...strokesLines(facts, flow));
  for (const { stroke, why } of flow.notComputed)
    lines.push('', `${strokeTitle(facts.timing.strokes[stroke]!)}: not computed: ${why}.`);
  for (const two of openedByTwo(rig, facts.timing)) lines.push('', twoChangesText(rig, two));
  const [first] = facts.timing.strokes;
  const emptying = flow.emptying && first ? emptyingLines(rig, flow.emptying, isSensed(rig, first)) : [];
  if (emptying.length > 0) lines.push('', ...emptying);
  if (flow.filling) lines.push('', ...fillingLines(rig, flow.filling));
  const notes = flow.strokes.flatMap(({ stacks }) => stacks.map(({ ceilingNote }) => ceilingNote));
  // What is said of a ceiling beside the strokes is not said again.
  const doubts = flow.doubts.filter((doubt) => !notes.some((note) => note !== '' && doubt.endsWith(`${note}.`)));
  for (const doubt of doubts) lines.push('', `Not to be relied on: ${doubt}`);
  return [...lines, '', caution()];
}

/** Every stroke; those of several triggers that have the same figures once. */
function strokesLines(facts: RigFacts, flow: FlowFacts): string[] {
  const groups = new Map<string, { readonly lines: StrokeLines; readonly strokes: StrokeFacts[] }>();
  for (const stroke of flow.strokes) {
    const lines = strokeLines(facts, flow, stroke);
    const { figures, energy, withheld, isEnergyOfRig } = lines;
    const key = JSON.stringify([figures, withheld, isEnergyOfRig ? [] : energy]);
    const started = facts.timing.strokes[stroke.stroke]!;
    const group = groups.get(key);
    if (group) group.strokes.push(started);
    else groups.set(key, { lines, strokes: [started] });
  }
  return [...groups.values()].flatMap(({ lines: { figures, energy, withheld }, strokes }) => {
    const [every, ...rest] = figures;
    return ['', `${strokeTitle(...strokes)}, ${every!}`, ...rest, ...energy, ...withheld];
  });
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

const openingsText = (rig: Rig): string =>
  hasOpening(rig)
    ? 'flow goes through the openings as stated, without pipes or pressure surges'
    : 'no opening is stated, so that joined spaces have one pressure at once';

const leaksText = (rig: Rig, phase: 'gas' | 'liquid' | 'packed'): string =>
  phase !== 'packed' && rig.doors.some((door) => door.leak !== null) ? '; shut doors leak as stated' : '';

function chamberTable(rig: Rig, flow: FlowFacts): string[] {
  const liquid = flow.medium!.phase === 'liquid';
  const rows = [
    ['chamber', 'volume', 'mass', ...(liquid ? [] : ['density']), 'pressure', ...(liquid ? ['level'] : []), 'limit'],
  ];
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
      rows.push([
        chamber.name,
        'endless',
        '-',
        ...(liquid ? [] : ['-']),
        pressureText(state),
        ...(liquid ? ['-'] : []),
        '-',
      ]);
      return;
    }
    rows.push([
      chamber.name,
      volume ? volumeText(volume.nominal) : '-',
      massText(state.mass),
      // What a liquid weighs by the room around it means nothing: the level says how full a chamber is.
      ...(liquid ? [] : [formatSi(state.density, 'density')]),
      pressureText(state),
      ...(liquid ? [levelText(state.level ?? 0)] : []),
      limit ? formatSi(limit.value.nominal, limit.kind) : '-',
    ]);
  });
  const filled = withoutEmpty(rows);
  return textTable(filled, ['left', ...filled[0]!.slice(1).map(() => 'right' as const)]);
}

function lineTable(rig: Rig, flow: FlowFacts): string[] {
  const rows = [['feed or draw', 'chamber', 'rate', 'lines needed', 'pumps needed']];
  const rateText = formatAlike(
    flow.lines.map(({ rate }) => rate),
    'mass_flow',
  );
  for (const { line, rate, varies, lines, pumps } of flow.lines) {
    const { name, kind, chamber } = rig.lines[line]!;
    rows.push([
      `${kind} ${name}`,
      rig.chambers[chamber]?.name ?? '-',
      rate === null ? '-' : `${rateText(rate)}${varies ? ' at the start' : ''}`,
      lines === null ? '-' : String(lines),
      pumps === null ? '-' : String(pumps),
    ]);
  }
  const filled = withoutEmpty(rows);
  return textTable(filled, ['left', 'left', ...filled[0]!.slice(2).map(() => 'right' as const)]);
}
