/**
 * Sequences: the wanted windows of doors, written directly. One that drives its doors becomes elements without response:
 *
 * - `NAME`: the stroke. A pulse (TP) from the rising edge of the trigger to the repeat time, or to the last step. With a repeat
 *   time its input is `trigger and not NAME`, so that it starts again at once while the trigger holds; edges during a stroke
 *   are passed over, and a stroke that has begun is finished.
 *   A scan sees the end of the pulse, and a new rising edge in the scan after it only: so in scan style the pulse of a sequence that
 *   repeats is one scan shorter, and the stroke counts whole scans. What stands open in the last scan of the stroke is kept open
 *   through it by `NAME/last`, the stroke as the scan before has seen it.
 * - `NAME/1`, `NAME/2` …: one on-delay (TON) fed by the stroke per time at which something is to happen.
 * - `NAME/DOOR`: the door's windows, `stroke and t1 and not t2` for each.
 */
import type { Expression, Name, SequenceStatement, Span } from '../../../grammar/src/ast';
import { type At, excerpt, markIncomplete, place, report } from './context';
import { timeOf } from './quantities';
import { itemOf } from './items';
import { bind } from './names';
import { addElement, bindNet, type ElementMaker, OFF } from './network';
import type { RelatedPlace, Source } from './problem';
import { STEP_RANGE } from './ranges';
import { widenByFraction } from './amounts';
import type { Drive, Logic, Sequence, TimeValue } from './rig';
import { say } from '../words/say';

interface Step {
  readonly at: TimeValue;
  readonly open: boolean;
  readonly doors: readonly number[];
  /** Names as written, alongside `doors`. */
  readonly names: readonly Name[];
  readonly source: Source;
}

/** A sequence as read, before it is known whether it drives its doors. */
export interface ReadSequence {
  readonly sequence: Sequence;
  readonly steps: readonly Step[];
}

function readSteps(maker: ElementMaker, statement: SequenceStatement): Step[] {
  const { scope, timing } = maker;
  const steps: Step[] = [];
  for (const step of statement.steps) {
    const at = timeOf(maker, step.at, STEP_RANGE, (amount) => widenByFraction(amount, timing.accuracy));
    const doors: number[] = [];
    const names: Name[] = [];
    for (const name of step.doors) {
      const found = bind(maker, name, ['door'], 'write');
      if (found?.binding.kind !== 'door' || found.binding.index < 0) continue;
      doors.push(found.binding.index);
      names.push(name);
    }
    const action = step.action.text;
    if (at === null || doors.length < step.doors.length) markIncomplete(maker, step.span);
    if (at === null || doors.length === 0 || (action !== 'open' && action !== 'close')) continue;
    steps.push({ at, open: action === 'open', doors, names, source: place(scope, step.span) });
  }
  return steps.sort((a, b) => a.at.nominal - b.at.nominal);
}

function readTrigger(here: At, trigger: Name | null): number | null {
  return trigger === null ? null : bindNet(here, { kind: 'reference', name: trigger, span: trigger.span });
}

/** Reads a sequence; `isDriven` says whether a drive statement drives a door of the rig. */
export function readSequence(
  maker: ElementMaker,
  statement: SequenceStatement,
  isDriven: (door: number) => boolean,
): ReadSequence {
  const { ctx, scope, timing } = maker;
  const steps = readSteps(maker, statement);
  const repeatAfter =
    statement.repeatAfter === null
      ? null
      : timeOf(maker, statement.repeatAfter, STEP_RANGE, (amount) => widenByFraction(amount, timing.accuracy));
  const doors = steps.flatMap((step) => step.doors);
  const triggerNet = readTrigger(maker, statement.trigger);
  const isUnread =
    (statement.trigger !== null && triggerNet === null) || (statement.repeatAfter !== null && repeatAfter === null);
  if (isUnread) markIncomplete(maker, statement.span);
  const sequence: Sequence = {
    ...itemOf(scope, statement.name, statement),
    triggerNet,
    steps: steps.map(({ at, open, doors: own, source }) => ({ at, open, doors: own, source })),
    repeatAfter,
    drives: doors.length > 0 && !doors.some(isDriven),
  };
  checkOrder(maker, steps);
  checkRepeat(maker, statement.repeatAfter, repeatAfter, steps[steps.length - 1]);
  if (sequence.drives && statement.trigger === null && statement.name.text !== '') {
    const message = say`The sequence ${statement.name.text} drives its doors and needs to know when: sequence ${statement.name.text} on SIGNAL.`;
    report(ctx, 'value/missing', message, place(scope, statement.name.span));
  }
  return { sequence, steps };
}

/** A sequence that contradicts itself means nothing certain: its steps are reported and its rig is not judged. */
function misfit(here: At, span: Span, message: string, related: readonly RelatedPlace[] = []): void {
  const { ctx, scope } = here;
  markIncomplete(here, span);
  report(ctx, 'value/step-order', message, place(scope, span), { related });
}

/** Reports steps that do not fit: a door opened twice, closed while shut, never closed. */
function checkOrder(here: At, steps: readonly Step[]): void {
  const openSince = new Map<number, Name>();
  for (const step of steps) {
    step.doors.forEach((door, i) => {
      const name = step.names[i]!;
      if (step.open === openSince.has(door)) {
        const message = step.open
          ? say`${name.text} is open already at this moment of the sequence.`
          : say`${name.text} is not open at this moment of the sequence.`;
        misfit(here, name.span, message);
      }
      if (step.open) openSince.set(door, name);
      else openSince.delete(door);
    });
  }
  for (const name of openSince.values()) {
    misfit(here, name.span, say`The sequence opens ${name.text} and never closes it.`);
  }
}

/** Reports a repeat before the last step. */
function checkRepeat(
  here: At,
  written: Expression | null,
  repeatAfter: TimeValue | null,
  last: Step | undefined,
): void {
  if (repeatAfter === null || last === undefined || written === null) return;
  if (repeatAfter.nominal >= last.at.nominal && repeatAfter.nominal > 0) return;
  const message = say`The sequence would repeat after ${excerpt(here.scope, written.span)}, before its last step.`;
  misfit(here, written.span, message, [{ at: last.source, message: say`the last step` }]);
}

const net = (index: number): Logic => ({ op: 'net', net: index });
const not = (a: Logic): Logic => ({ op: 'not', a });
const both = (a: Logic, b: Logic): Logic => ({ op: 'and', a, b });
const either = (a: Logic, b: Logic): Logic => ({ op: 'or', a, b });

/** Makes the elements of a sequence that drives its doors. */
export function compileSequence(maker: ElementMaker, read: ReadSequence): Drive[] {
  const { sequence, steps } = read;
  const last = steps[steps.length - 1];
  if (!sequence.drives || sequence.triggerNet === null || last === undefined) return [];
  const length = sequence.repeatAfter ?? last.at;
  if (length.nominal <= 0) return [];
  const atOnce: TimeValue = { nominal: 0, min: 0, max: 0, at: sequence.at };
  const windows = [...windowsOf(steps)];
  const trigger = net(sequence.triggerNet);
  const scan = sequence.repeatAfter === null ? null : maker.timing.scan;
  const preset = scan ? withoutOneScan(length, scan) : length;
  // The scan that sees the end of the pulse.
  const strokeEnds = scan ? Math.ceil(preset.nominal / scan.nominal) * scan.nominal : preset.nominal;
  const isInLastScan = ({ from, to }: Window): boolean =>
    scan !== null && from <= strokeEnds && (to === null || to > strokeEnds);

  const stroke = maker.network.nets.length;
  maker.network.nets.push({ name: maker.owner, kind: 'element', index: -1 });
  const input = sequence.repeatAfter === null ? trigger : both(trigger, not(net(stroke)));
  const add = (
    name: string,
    kind: 'LOGIC' | 'TP' | 'TON',
    logic: Logic,
    time: TimeValue | null,
    at: Source,
    own?: number,
  ) => addElement(maker, name, { kind, inputs: [logic], preset: time }, atOnce, at, own);
  // Written before the stroke, so that it sees the stroke of the scan before.
  const needsLast = windows.some(([, w]) => w.intervals.some(isInLastScan));
  const lastScan = needsLast ? add(`${maker.owner}/last`, 'LOGIC', net(stroke), null, sequence.at) : -1;
  add(maker.owner, 'TP', input, preset, sequence.at, stroke);

  const moments = new Map<number, Logic>([[0, net(stroke)]]);
  for (const step of steps) {
    // What is to happen as the stroke ends needs no timer: it ends with the stroke.
    if (moments.has(step.at.nominal) || step.at.nominal >= strokeEnds) continue;
    const own = add(`${maker.owner}/${moments.size}`, 'TON', net(stroke), step.at, step.source);
    moments.set(step.at.nominal, net(own));
  }
  return windows.map(([door, { name, source, intervals }]) => {
    const parts = intervals.flatMap(({ from, to }) => {
      const open = moments.get(from);
      const shut = to === null ? undefined : moments.get(to);
      if (open === undefined) return [];
      const opened = from === 0 ? net(stroke) : both(net(stroke), open);
      return shut === undefined ? [opened] : [both(opened, not(shut))];
    });
    if (intervals.some(isInLastScan)) parts.push(both(net(lastScan), not(net(stroke))));
    const logic = parts.length === 0 ? OFF : parts.reduce(either);
    const own = add(`${maker.owner}/${name}`, 'LOGIC', logic, null, source);
    return { kind: 'door', target: door, net: own, at: source, whole: sequence.whole };
  });
}

/** A time one scan shorter than the next whole number of scans, so that a pulse of it and one scan more are that number. */
function withoutOneScan(time: TimeValue, scan: TimeValue): TimeValue {
  const shorter = (us: number): number => Math.max(1, us - scan.nominal);
  return { nominal: shorter(time.nominal), min: shorter(time.min), max: shorter(time.max), at: time.at };
}

/** When a door is to stand open; without end where the sequence does not close it. */
interface Window {
  from: number;
  to: number | null;
}

interface DoorWindows {
  readonly name: string;
  readonly source: Source;
  readonly intervals: Window[];
}

/** Door → when it is to stand open, from its steps in order. */
function windowsOf(steps: readonly Step[]): Map<number, DoorWindows> {
  const all = new Map<number, DoorWindows>();
  for (const step of steps) {
    step.doors.forEach((door, i) => {
      const name = step.names[i]!;
      const source = { ...step.source, start: name.span.start, end: name.span.end };
      if (!all.has(door)) all.set(door, { name: name.text, source, intervals: [] });
      const { intervals } = all.get(door)!;
      const current = intervals[intervals.length - 1];
      const isOpen = current !== undefined && current.to === null;
      if (step.open && !isOpen) intervals.push({ from: step.at.nominal, to: null });
      if (!step.open && isOpen) current.to = step.at.nominal;
    });
  }
  return all;
}
