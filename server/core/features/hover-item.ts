/** Hover of a declared name: its statement in short, its comment, its times counted from the trigger, its causes. */
import { timerWords, triggerText } from '../timing/words';
import type { RigDocument } from '../document/document';
import type { Chamber, Door, Quantity, Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { isSinceBefore, leavesAt } from '../timing/course';
import type { CauseLink, DoorWindow, StrokeFacts } from '../timing/facts';
import type { DimensionName } from '../units/dimensions';
import { formatAlike, formatTime } from '../units/units';
import type { HoverOptions } from './hover';
import { chamberFlowText } from './hover-flow';
import type { RigItem } from './lookup';
import { contribution, firstStrokeWindows, isIncomplete, itemsDeclaredAt, mainStroke, onTimes } from './lookup';
import { code, escaped, paragraphs, table } from './markdown';
import { mainRanges } from './ranges';
import type { Occurrence } from './symbol-at';
import { say } from '../words/say';

/** Most windows listed in one hover. */
const MOST = 6;

/** Items of a part placed often that are shown. */
const SHOWN = 3;
const TIMED: ReadonlySet<string> = new Set(['chamber', 'door', 'signal', 'sensor', 'switch']);

/** The rigs whose facts the hover of a name reads. */
export function rigsOfItem(document: RigDocument, { declaration }: Occurrence): number[] {
  const items = itemsDeclaredAt(document, declaration.at).slice(0, SHOWN);
  return [...new Set(items.filter(({ kind }) => TIMED.has(kind)).map(({ rig }) => rig))];
}

/** Markdown for a name of the text. */
export function itemHover(document: RigDocument, occurrence: Occurrence, options: HoverOptions): string {
  const { declaration } = occurrence;
  const items = itemsDeclaredAt(document, declaration.at);
  const bodies = items.slice(0, SHOWN).map((item) => itemText(document, item, items.length > 1, options));
  return paragraphs(
    code(declaration.detail || `${declaration.kind} ${declaration.name}`),
    escapedLines(declaration.doc),
    ...bodies,
  );
}

function escapedLines(text: string): string {
  return text
    .split('\n')
    .map((line) => escaped(line.trim()))
    .join('  \n')
    .trim();
}

function itemText(document: RigDocument, item: RigItem, several: boolean, options: HoverOptions): string {
  const facts = document.factsOf(item.rig);
  const body = itemBody(facts, item, options);
  return several && body !== '' ? paragraphs(`**${escaped(item.item.name)}**`, body) : body;
}

function itemBody(facts: RigFacts, item: RigItem, options: HoverOptions): string {
  switch (item.kind) {
    case 'door':
      return doorText(facts, item.index, options);
    case 'signal':
      return netText(facts, facts.rig.signals[item.index]!.net, timerText(facts, item.index));
    case 'sensor':
      return netText(facts, facts.rig.sensors[item.index]!.net, '');
    case 'switch':
      return netText(facts, facts.rig.switches[item.index]!.net, '');
    case 'chamber':
      return paragraphs(chamberText(facts.rig.chambers[item.index]!), chamberFlowText(facts, item.index));
    default:
      return '';
  }
}

// ---------------------------------------------------------------- doors

function doorText(facts: RigFacts, index: number, options: HoverOptions): string {
  const door = facts.rig.doors[index]!;
  const stroke = mainStroke(facts);
  if (!stroke) return paragraphs(noTimes(facts.rig), travelText(door));
  const windows = firstStrokeWindows(stroke, index);
  if (windows.length === 0) return say`Never opens after ${code(triggerText(stroke))}.`;
  const rows = windows.slice(0, MOST).flatMap((w, i) => [windowRow(w), ...worstCaseRows(facts, door.name, i, w)]);
  const head = [say`opens`, say`fully open`, say`closing`, say`shut`];
  return paragraphs(
    say`Counted from ${code(triggerText(stroke))}:`,
    table(head, rows),
    travelText(door),
    options.causes ? causesText(windows[0]!) : '',
  );
}

function noTimes(rig: Rig): string {
  return isIncomplete(rig)
    ? say`The rig has mistakes in its control, so its times are not computed.`
    : say`No sensor starts a stroke, so there are no times to tell.`;
}

function travelText({ opensIn, closesIn }: Door): string {
  if (opensIn.nominal === closesIn.nominal) return say`Travel ${formatTime(opensIn.nominal)}.`;
  return say`Opens in ${formatTime(opensIn.nominal)}, closes in ${formatTime(closesIn.nominal)}.`;
}

function windowRow(opening: DoorWindow): string[] {
  const time = (t: number | null | undefined, none: string): string =>
    t === null || t === undefined ? none : formatTime(t);
  return [
    time(leavesAt(opening), say`before`),
    opening.fullyOpen ? time(fullFrom(opening), say`before`) : say`never`,
    time(closingFrom(opening), say`stays open`),
    time(opening.notShut.to, say`stays open`),
  ];
}

/** The same moments as the widest ranges that the stated tolerances allow; no row without tolerances. */
function worstCaseRows(facts: RigFacts, door: string, index: number, opening: DoorWindow): string[][] {
  const ranges = mainRanges(facts);
  const nominal = [leavesAt(opening), fullFrom(opening), closingFrom(opening), opening.notShut.to];
  let isRanged = false;
  const cells = ['opens', 'opened', 'closes', 'shuts'].map((kind, i) => {
    const range = ranges.get(`door:${door}/${kind}/${index}`);
    const t = nominal[i];
    if (!range || typeof t !== 'number' || t < range.min || t > range.max) return '';
    if (range.min === range.max) return formatTime(t);
    isRanged = true;
    return say`${formatTime(range.min)} to ${formatTime(range.max)}`;
  });
  return isRanged ? [cells] : [];
}

/** When the door arrives fully open; null where it never does, or did before. */
const fullFrom = (opening: DoorWindow): number | null =>
  opening.fullyOpen && !isSinceBefore(opening, opening.fullyOpen) ? opening.fullyOpen.from : null;

/** When the door starts to close: where its fully open time ends, or the command if it never got that far. */
function closingFrom(opening: DoorWindow): number | null {
  return opening.fullyOpen ? opening.fullyOpen.to : (opening.commanded?.to ?? null);
}

function causesText(opening: DoorWindow): string {
  const opens = chain(opening.opensBecause);
  const closes = chain(opening.closesBecause);
  return paragraphs(
    opens === '' ? '' : say`Opens because ${opens}.`,
    closes === '' ? '' : say`Closes because ${closes}.`,
  );
}

/** `ready` on at 0 s → `start` on at 50 ms (response 50 ms) → …, the door's own travel last. */
function chain(links: readonly CauseLink[]): string {
  return links.map(linkText).join(' → ');
}

function linkText(link: CauseLink): string {
  const [name, t] = [code(link.name), formatTime(link.t)];
  const door = link.value ? say`${name} is fully open at ${t}` : say`${name} is shut at ${t}`;
  const net = link.value ? say`${name} on at ${t}` : say`${name} off at ${t}`;
  return `${link.kind === 'door' ? door : net}${contributionText(link)}`;
}

function contributionText(link: CauseLink): string {
  const parts = [
    link.preset > 0 ? say`preset ${formatTime(link.preset)}` : '',
    link.response > 0 ? say`response ${formatTime(link.response)}` : '',
    link.travel > 0 ? say`travel ${formatTime(link.travel)}` : '',
  ].filter((p) => p !== '');
  return contribution(link) === 0 ? '' : ` (${parts.join(' + ')})`;
}

// ---------------------------------------------------------------- nets

function netText(facts: RigFacts, net: number, more: string): string {
  const stroke = mainStroke(facts);
  if (!stroke) return more;
  const times = onTimes(stroke, net);
  const trigger = code(triggerText(stroke));
  if (times.length === 0) return paragraphs(say`Stays off after ${trigger}.`, more);
  const rows = times
    .slice(0, MOST)
    .map((t) => [
      formatTime(t.from),
      t.to === null ? say`stays on` : formatTime(t.to),
      t.to === null ? '' : formatTime(t.to - t.from),
    ]);
  return paragraphs(say`Counted from ${trigger}:`, table([say`on`, say`off`, say`for`], rows), more);
}

/** Presets and margins of the timers inside a signal. */
function timerText(facts: RigFacts, signal: number): string {
  const stroke = mainStroke(facts);
  const elements = facts.rig.signals[signal]!.elements;
  const rows = (stroke?.timers ?? []).filter((t) => elements.includes(t.element)).map((t) => timerRow(facts.rig, t));
  return table([say`timer`, say`preset`, say`longest input`, say`to spare`], rows);
}

function timerRow(rig: Rig, timer: StrokeFacts['timers'][number]): string[] {
  const { longest, spare } = timerWords(rig, timer);
  const preset = rig.network.elements[timer.element]?.preset;
  return [code(timer.name), preset ? rangeText(preset, formatTime) : formatTime(timer.preset), longest, spare];
}

/** A nominal value, with its range where there is one. */
function rangeText(value: { nominal: number; min: number; max: number }, format: (v: number) => string): string {
  if (value.min === value.max) return format(value.nominal);
  return say`${format(value.nominal)} (${format(value.min)} to ${format(value.max)})`;
}

// ---------------------------------------------------------------- chambers

function chamberText(chamber: Chamber): string {
  const given: readonly (readonly [string, Quantity | null, DimensionName])[] = [
    [say`volume`, chamber.volume, 'volume'],
    [say`pressure`, chamber.pressure, 'pressure'],
    [say`density`, chamber.density, 'density'],
    [say`mass`, chamber.mass, 'mass'],
    [say`temperature`, chamber.temperature, 'temperature'],
    [say`level`, chamber.level, 'length'],
  ];
  const rows = given.flatMap(([name, quantity, dimension]) =>
    quantity ? [[name, rangeText(quantity, formatAlike([quantity.min, quantity.max], dimension))]] : [],
  );
  return table([say`at the start`, ''], rows);
}
