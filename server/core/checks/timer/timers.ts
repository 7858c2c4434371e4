/** Facts of the strokes about one timer, for the timer checks. */
import { predicateOf } from '../../model/logic';
import type { Element, Rig } from '../../model/rig';
import type { StrokeFacts, TimerFacts } from '../../timing/facts';
import type { RigFacts } from '../../run/facts';
import { pulsesOf } from '../../timing/course';
import type { Interval } from '../../timing/facts';
import type { Trace } from '../../timing/trace';
import type { TimeLiteral } from '../../choose/literals';

/** One timer in one stroke. */
export interface TimerInStroke {
  readonly element: Element;
  /** Index of the element. */
  readonly index: number;
  readonly stroke: StrokeFacts;
  readonly timer: TimerFacts;
}

/** Every timer of a kind that somebody wrote, in every stroke. */
export function timersInStrokes({ rig, timing }: RigFacts, kind: 'TON' | 'TOF' | 'TP'): TimerInStroke[] {
  const { elements } = rig.network;
  const written = elements.map((e) => e.kind === kind && e.preset !== null && !isOfSequence(rig, e));
  if (!written.includes(true)) return [];
  return timing.strokes.flatMap((stroke) =>
    stroke.timers
      .filter(({ element }) => written[element])
      .map((timer) => ({ element: elements[timer.element]!, index: timer.element, stroke, timer })),
  );
}

/** Whether an element was made from a sequence, whose timers are built to fit one another. */
export function isOfSequence(rig: Rig, { at }: Element): boolean {
  return rig.sequences.some(({ whole }) => whole.uri === at.uri && whole.start <= at.start && at.end <= whole.end);
}

/** The preset of a timer as a time that can be changed. */
export function presetLiteral(element: Element): TimeLiteral {
  return { at: element.preset!.at, value: element.preset!.nominal, name: element.name };
}

/** The signal that an element belongs to, by index; -1 where it stands in a drive. */
export function signalOf(rig: Rig, element: number): number {
  return rig.signals.findIndex((s) => s.elements.includes(element));
}

/** Times when the input of a timer is on, over the trace. */
export function inputPulses(rig: Rig, trace: Trace, element: Element): Interval[] {
  const logic = element.inputs[0]!;
  if (logic.op === 'net') return pulsesOf(trace, logic.net);
  const isOn = predicateOf(logic);
  const values = trace.initial.map(Number);
  const pulses: Interval[] = [];
  let since = isOn(values) ? trace.start : null;
  for (const edge of trace.edges) {
    values[edge.net] = edge.value ? 1 : 0;
    const on = isOn(values);
    if (on) since ??= edge.t;
    else if (since !== null) {
      pulses.push({ from: since, to: edge.t });
      since = null;
    }
  }
  return since === null ? pulses : [...pulses, { from: since, to: null }];
}
