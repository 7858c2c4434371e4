/**
 * Why a stroke does not come again while its trigger is held: what the signal that starts strokes waits for in the end, and the signals that
 * nothing reads with which strokes would follow one another. The first is a walk back through the network as it stands when all has
 * settled; the second is tried on the rig, never guessed from a name.
 */
import { elementOf, holds, movingNets, netsOf, sourcesOf } from '../model/logic';
import type { Element, Logic, Rig } from '../model/rig';
import { timingOf } from '../timing/analyse';
import type { StrokeFacts } from '../timing/facts';
import { chainOf } from '../timing/causes';
import type { DoorMove, Trace } from '../timing/trace';
import { type Kept, kept, type Work } from '../work/work';
import { startOptions } from './analyse';
import { say } from '../words/say';

/** A net that would have to change, and the value at which it stands. */
export interface Standing {
  readonly net: number;
  readonly value: boolean;
}

/** A signal that nothing reads, with which strokes would repeat. */
export interface LooseEnd {
  /** Index into `signals`. */
  readonly signal: number;
  /** The element that would have to read it: its first input and this signal, inverted where `inverted`. */
  readonly element: number;
  readonly inverted: boolean;
  /** The interval that strokes would then have, in microseconds. */
  readonly repeat: number;
}

/** Unread signals that are tried for one stroke: each is an analysis of the rig. */
const MOST = 4;

/** Whether a stroke comes once with its trigger held, in a run that is known to its end. */
function comesOnce({ starts, repeat, pattern, trace }: StrokeFacts): boolean {
  if (starts.length > 1 || repeat !== null || trace.stopped) return false;
  // A signal that no door depends on may leave a pattern in which no door moves.
  return pattern === null || trace.doors.every(({ moves }) => moves.every((m) => m.t < pattern.from));
}

/** The first net behind the trigger on the way to the first departure; -1 where a door waits for the trigger alone. */
function startOf({ trace }: StrokeFacts): number {
  const moves = trace.doors.flatMap(({ moves: all }) => all.filter((m) => m.cause >= 0));
  const first = moves.reduce<DoorMove | null>((a, b) => (a && a.t <= b.t ? a : b), null);
  const second = first ? chainOf(trace.edges, first.cause)[1] : undefined;
  return second === undefined ? -1 : trace.edges[second]!.net;
}

/**
 * From the signal that starts strokes back to what never changes again: each net waits for the next. Of several that would do, one that
 * does not come down to the trigger is followed, since the trigger is held by agreement. Empty where the stroke repeats.
 */
export function standstill(rig: Rig, stroke: StrokeFacts): Standing[] {
  const start = comesOnce(stroke) ? startOf(stroke) : -1;
  if (start < 0) return [];
  return followed(rig, lastValues(stroke.trace), start, stroke.trigger.net);
}

/** The path of a depth-first walk, with a stack of its own: a chain may be as long as a rig. */
function followed(rig: Rig, last: readonly boolean[], start: number, trigger: number): Standing[] {
  const seen = new Set<number>();
  const path: { readonly net: number; readonly waitsFor: readonly number[]; isEnd: boolean }[] = [];
  const enter = (net: number): void => {
    seen.add(net);
    const element = elementOf(rig, net);
    path.push({ net, waitsFor: element ? neededFor(element, last) : [], isEnd: true });
  };
  const standing = (): Standing[] => path.map(({ net }) => ({ net, value: last[net]! }));
  let toTrigger: Standing[] = [];
  enter(start);
  for (let here = path.at(-1); here; here = path.at(-1)) {
    const next = here.waitsFor.find((net) => !seen.has(net));
    if (next !== undefined) {
      here.isEnd = false;
      enter(next);
      continue;
    }
    if (here.isEnd && here.net !== trigger) return standing();
    if (here.isEnd && toTrigger.length === 0) toTrigger = standing();
    path.pop();
  }
  return toTrigger;
}

/** Nets any one of which, changed, would let the element give another value at once or in time. */
function neededFor(element: Element, last: readonly boolean[]): number[] {
  const [first, second] = element.inputs;
  const out = last[element.net]!;
  const flips = (formula: Logic | undefined): number[] => (formula ? flipping(formula, last) : []);
  switch (element.kind) {
    case 'SR':
    case 'RS':
    case 'CTU':
      // Set (or counted to its end), it waits for its reset; otherwise for what sets it.
      return out ? flips(second) : flips(first);
    default:
      return flips(first);
  }
}

/** Nets of a formula that change its value when they alone change. */
function flipping(formula: Logic, last: readonly boolean[]): number[] {
  const value = (turned: number): boolean =>
    holds(formula, { net: (net) => last[net]! !== (net === turned), notShut: () => false });
  return netsOf(formula).filter((net) => value(net) !== value(-1));
}

function lastValues({ initial, edges }: Trace): boolean[] {
  const values = [...initial];
  for (const { net, value } of edges) values[net] = value;
  return values;
}

/** `go stays off because hold stays on, because latch stays on`; empty where the stroke repeats. */
export function standstillText(rig: Rig, stroke: StrokeFacts): string {
  const chain = standstill(rig, stroke);
  const links = chain.slice(0, MOST_LINKS).map(({ net, value }) => {
    const { name } = rig.network.nets[net]!;
    if (net === stroke.trigger.net) return say`${name} is held`;
    return value ? say`${name} stays on` : say`${name} stays off`;
  });
  const [first, second, ...further] = links;
  if (second === undefined) return first ?? '';
  return further.reduce((text, link) => say`${text}, because ${link}`, say`${first!} because ${second}`);
}

/** Links of a chain that a sentence names. */
const MOST_LINKS = 4;

/**
 * Signals that change in the stroke, on which no door, feed or draw depends, and with which the start would come again and again: each is
 * joined to the start's first input as it stood before the trigger, and the rig followed.
 */
export function looseEnds(rig: Rig, stroke: StrokeFacts): readonly LooseEnd[] {
  let known = KNOWN.get(stroke);
  if (!known) KNOWN.set(stroke, (known = kept(() => findLooseEnds(rig, stroke))));
  return known.value();
}

const KNOWN = new WeakMap<StrokeFacts, Kept<LooseEnd[]>>();

function* findLooseEnds(rig: Rig, stroke: StrokeFacts): Work<LooseEnd[]> {
  const start = comesOnce(stroke) ? elementOf(rig, startOf(stroke)) : undefined;
  if (!start) return [];
  const found: LooseEnd[] = [];
  for (const signal of unreadSignals(rig, stroke.trace).slice(0, MOST)) {
    const { net } = rig.signals[signal]!;
    const element = rig.network.elements.indexOf(start);
    const inverted = !stroke.trace.initial[net]!;
    const repeat = yield* repeatOf(joined(rig, element, inverted ? { op: 'not', a: netOf(net) } : netOf(net)), stroke);
    if (repeat !== null) found.push({ signal, element, inverted, repeat });
  }
  return found;
}

const netOf = (net: number): Logic => ({ op: 'net', net });

function unreadSignals(rig: Rig, { edges }: Trace): number[] {
  const moving = sourcesOf(rig, movingNets(rig));
  const changing = new Set(edges.map((edge) => edge.net));
  return rig.signals.flatMap(({ net }, k) => (!moving.has(net) && changing.has(net) ? [k] : []));
}

/** The rig in which an element's first input also needs `also`. */
export function joined(rig: Rig, element: number, also: Logic): Rig {
  const elements = rig.network.elements.map((e, k): Element => {
    if (k !== element) return e;
    const [first, ...others] = e.inputs;
    return { ...e, inputs: [{ op: 'and', a: first!, b: also }, ...others] };
  });
  return { ...rig, network: { ...rig.network, elements } };
}

function* repeatOf(rig: Rig, { trigger }: StrokeFacts): Work<number | null> {
  const { strokes, incomplete, atRest } = yield* timingOf(rig, startOptions(rig));
  if (incomplete !== null || atRest.loop || atRest.moves) return null;
  return strokes.find((s) => s.trigger.net === trigger.net && s.trace.stopped === null)?.repeat ?? null;
}
