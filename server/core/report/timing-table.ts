/** The facts about time as text that a person reads, for `caisson timing`. Times in seconds from the trigger's edge. */
import { endsOf } from '../model/intent';
import { inputsOfRig } from '../model/logic';
import type { Rig } from '../model/rig';
import { standstillText } from '../run/no-repeat';
import type { RigFacts } from '../run/facts';
import type { CauseLink, DoorFacts, DoorWindow, Interval, PairFacts, StrokeFacts } from '../timing/facts';
import { alikeStrokes } from '../timing/alike';
import { clockOf } from '../timing/clock';
import { isSinceBefore, lengthIn } from '../timing/course';
import { formatTime } from '../units/units';
import { inputsBefore } from '../timing/trace';
import { openedByTwo, twoChangesText } from '../timing/two-changes';
import { listText, sinceTrigger, timerWords } from '../timing/words';
import { textTable } from './text-table';

/** Lines without line ends. */
export function timingTable(facts: RigFacts): string[] {
  const { rig, timing } = facts;
  const lines = [rig.title ? `${rig.name}: ${rig.title}` : rig.name];
  if (timing.strokes.length === 0) lines.push('', noTrigger(facts));
  const turned = inputsOfRig(rig).filter((input) => timing.turned.includes(input.net));
  if (turned.length > 0) {
    const words = turned.map((input) => `${input.name} ${timing.atRest.trace.initial[input.net] ? 'off' : 'on'}`);
    lines.push('', `No single change starts a stroke: what follows is with ${listText(words)} before the trigger.`);
  }
  for (const [first, ...others] of alikeStrokes(timing.strokes)) {
    const [trigger, ...rest] = strokeLines(rig, first!);
    lines.push(
      '',
      `${trigger}${besides(facts, first!)}`,
      ...rest,
      ...others.flatMap((s) => alikeLines(facts, first!, s)),
    );
  }
  for (const two of openedByTwo(rig, timing)) lines.push('', twoChangesText(rig, two));
  if (timing.incomplete !== null) lines.push('', `Not complete: ${timing.incomplete}`);
  return lines;
}

/** A stroke whose doors do what those of another do: what differs is why they move and what goes into the timers. */
function alikeLines(facts: RigFacts, first: StrokeFacts, stroke: StrokeFacts): string[] {
  const { rig } = facts;
  const others = [timerTable, causeLines].flatMap((linesOf) => {
    const lines = linesOf(rig, stroke);
    return namesApart(lines, stroke) === namesApart(linesOf(rig, first), first) ? [] : lines;
  });
  const same = `  The doors do the same at the same times as ${sinceTrigger(first)}.`;
  return ['', `${triggerLine(stroke)}${besides(facts, stroke)}`, ...clockLines(rig, stroke), '', same, ...others];
}

/** Lines without the name of the trigger. */
const namesApart = (lines: readonly string[], { trigger, becomes }: StrokeFacts): string =>
  lines.join('\n').replaceAll(`${trigger.name} ${becomes ? 'on' : 'off'} (0 s)`, '');

/** What else stands otherwise than at the start before the trigger of this stroke, beside what all strokes wait for. */
function besides({ rig, timing }: RigFacts, stroke: StrokeFacts): string {
  const { initial } = timing.atRest.trace;
  const before = inputsBefore(stroke);
  const turned = inputsOfRig(rig).filter(
    ({ net }) => net !== stroke.trigger.net && !timing.turned.includes(net) && before(net) !== initial[net],
  );
  if (stroke.trigger.kind === 'power' || turned.length === 0) return '';
  const words = turned.map(({ net, name }) => `${name} is ${before(net) ? 'on' : 'off'}`);
  return ` Meanwhile ${listText(words)}, so that the rig is at rest before it.`;
}

function noTrigger({ rig, timing }: RigFacts): string {
  if (timing.incomplete !== null) return 'No stroke was computed.';
  if (timing.atRest.loop) return 'The control network never settles, so there is no stroke to time.';
  if (timing.atRest.moves) return 'The rig moves without any sensor; no sensor starts a stroke.';
  if (rig.doors.length === 0) return 'This rig has no doors.';
  return 'No sensor or switch of this rig moves a door when it changes alone; trace --scenario NAME follows a scenario.';
}

function strokeLines(rig: Rig, stroke: StrokeFacts): string[] {
  return [
    triggerLine(stroke),
    ...clockLines(rig, stroke),
    '',
    ...doorTable(rig, stroke),
    '',
    ...strokeSummary(rig, stroke),
    ...pairTable(rig, stroke),
    ...timerTable(rig, stroke),
    ...causeLines(rig, stroke),
  ];
}

function triggerLine({ trigger, becomes }: StrokeFacts): string {
  if (trigger.kind === 'power') return 'Trigger: none, it runs by itself. Times are cumulative from its first opening.';
  const kind = trigger.kind === 'switch' ? 'switch ' : '';
  return `Trigger: ${kind}${trigger.name} goes ${becomes ? 'on' : 'off'}. Times are cumulative from that edge.`;
}

/** Where something switches by itself, the times are those of one moment of the trigger. */
function clockLines(rig: Rig, stroke: StrokeFacts): string[] {
  const clock = clockOf(rig, stroke);
  if (clock === null) return [];
  const { next, period, doors } = clock;
  const { name } = rig.network.nets[next.net]!;
  const every = period === null ? '' : ` every ${formatTime(period)}`;
  const moved = `${listText(doors.map((d) => rig.doors[d]!.name))} ${doors.length > 1 ? 'depend' : 'depends'} on it`;
  return [
    `${name} switches by itself${every}, and ${moved}: these are the times of a trigger that comes ${formatTime(next.t)} before ${name} goes ${next.value ? 'on' : 'off'}. A trigger at another moment gives other times.`,
  ];
}

const time = (t: number | null | undefined, none: string): string =>
  t === null || t === undefined ? none : formatTime(t);

function doorTable(rig: Rig, stroke: StrokeFacts): string[] {
  const rows = [
    ['door', 'driven from', 'to', 'leaves shut', 'fully open', 'starts to close', 'shut', 'fully open for'],
  ];
  const still = stroke.trace.stopped?.reason === 'loop' ? 'not computed' : 'stays shut';
  for (const door of stroke.doors) rows.push(...doorRows(rig, door, still));
  return textTable(rows, ['left', 'right', 'right', 'right', 'right', 'right', 'right', 'right']);
}

function doorRows(rig: Rig, door: DoorFacts, still: string): string[][] {
  const name = rig.doors[door.door]!.name;
  if (door.windows.length === 0) return [[name, still]];
  return door.windows.map((window, k) => [
    k === 0 ? name : '',
    window.commanded ? begins(window, window.commanded) : '-',
    window.commanded ? time(window.commanded.to, 'no end') : '-',
    begins(window, window.notShut),
    window.fullyOpen ? begins(window, window.fullyOpen) : 'never',
    window.fullyOpen ? time(window.fullyOpen.to, 'no end') : '-',
    time(window.notShut.to, 'never'),
    openFor(window),
  ]);
}

/** A part that has lasted since before the trigger begins at no moment that the stroke has. */
const begins = (window: DoorWindow, part: Interval): string =>
  isSinceBefore(window, part) ? 'before' : formatTime(part.from);

function openFor(window: DoorWindow): string {
  const length = window.fullyOpen ? lengthIn(window, window.fullyOpen) : Infinity;
  return length === Infinity ? '-' : formatTime(length);
}

function strokeSummary(rig: Rig, stroke: StrokeFacts): string[] {
  const lines = endAndRepeat(rig, stroke);
  for (const { path, intervals } of stroke.straightThrough) {
    for (const i of intervals)
      lines.push(`  STRAIGHT THROUGH ${endsOf(rig, path)} from ${formatTime(i.from)} to ${time(i.to, 'no end')}.`);
  }
  return lines;
}

/** A run that a loop stopped says nothing of what would come after. */
function endAndRepeat(rig: Rig, stroke: StrokeFacts): string[] {
  const { strokeEnds } = stroke;
  const { stopped } = stroke.trace;
  if (stopped?.reason === 'loop') {
    const names = stopped.nets.map((net) => rig.network.nets[net]!.name).join(', ');
    return [`  Not computed beyond ${formatTime(stopped.t)}: the loop ${names} never settles.`];
  }
  const ends = strokeEnds === null ? 'The stroke does not end.' : `Stroke ends at ${formatTime(strokeEnds)}.`;
  return [`  ${ends}`, `  ${repeatText(rig, stroke)}`];
}

function repeatText(rig: Rig, stroke: StrokeFacts): string {
  const { trigger, repeat, strokeCount } = stroke;
  const while_ = trigger.kind === 'power' ? '' : ' while the trigger holds';
  if (repeat === null) {
    const why = standstillText(rig, stroke);
    return `It does not repeat${while_}${why === '' ? '' : `: ${why}`}.`;
  }
  const times = strokeCount === null ? '' : `, ${strokeCount} times,`;
  return `Repeats every ${formatTime(repeat)}${times}${while_}.`;
}

function pairTable(rig: Rig, stroke: StrokeFacts): string[] {
  // Doors of another stage that this trigger leaves shut have nothing between them.
  const opens = (door: number): boolean => (stroke.doors.find((d) => d.door === door)?.windows.length ?? 0) > 0;
  const pairs = stroke.pairs.filter(({ doors }) => doors.every(opens));
  if (pairs.length === 0) return [];
  const rows = pairs.map((pair) => [
    pair.doors.map((d) => rig.doors[d]!.name).join(', '),
    overlapText(pair),
    time(pair.gap, 'none'),
  ]);
  return [
    '',
    ...textTable([['doors', 'both fully open', 'apart (both shut between)'], ...rows], ['left', 'right', 'right']),
  ];
}

/** How long two doors are fully open together: one time, or the shortest and the longest where they meet more than once. */
function overlapText({ overlap, leastOverlap }: PairFacts): string {
  const text = (t: number | null): string => (t === Infinity ? 'no end' : time(t, 'none'));
  return leastOverlap === overlap ? text(overlap) : `${text(leastOverlap)} to ${text(overlap)}`;
}

function timerTable(rig: Rig, stroke: StrokeFacts): string[] {
  if (stroke.timers.length === 0) return [];
  const rows = stroke.timers.map((timer) => {
    const { longest, spare } = timerWords(rig, timer);
    return [timer.name, formatTime(timer.preset), longest, spare];
  });
  return [
    '',
    ...textTable([['timer', 'preset', 'longest input', 'to spare'], ...rows], ['left', 'right', 'right', 'right']),
  ];
}

function causeLines(rig: Rig, stroke: StrokeFacts): string[] {
  const lines: string[] = [];
  for (const door of stroke.doors) {
    const window = door.windows[0];
    if (!window) continue;
    const name = rig.doors[door.door]!.name;
    if (window.opensBecause.length > 0) lines.push(`  ${name} opens:  ${opensText(window)}`);
    if (window.closesBecause.length > 0) lines.push(`  ${name} closes: ${chainText(window.closesBecause)}`);
  }
  return lines.length > 0 ? ['', '  Why', ...lines] : [];
}

/** A door that turns round on its way never arrives where its last link says. */
function opensText({ opensBecause, fullyOpen, notShut }: DoorFacts['windows'][number]): string {
  const last = opensBecause[opensBecause.length - 1]!;
  if (fullyOpen !== null || last.kind !== 'door') return chainText(opensBecause);
  const turns = `${last.name} leaves its seat (${formatTime(notShut.from)}) and turns round before it is fully open`;
  return [...opensBecause.slice(0, -1).map(linkText), turns].join(' → ');
}

/** `ready on 0 s → start on +50 ms → upper_on off +1.4 s +50 ms`: each contribution in turn. */
export function chainText(chain: readonly CauseLink[]): string {
  return chain.map(linkText).join(' → ');
}

function linkText(link: CauseLink): string {
  if (link.kind === 'door')
    return `${link.name} ${link.value ? 'fully open' : 'shut'} +${formatTime(link.travel)} travel (${formatTime(link.t)})`;
  const parts = [link.preset, link.response].filter((time) => time > 0).map((time) => `+${formatTime(time)}`);
  return [link.name, link.value ? 'on' : 'off', ...parts, `(${formatTime(link.t)})`].join(' ');
}
