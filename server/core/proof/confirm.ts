/**
 * Replays a counter-example in the event engine, which shares no code with the proof's own steps, and looks whether the property is
 * broken there, too. Each element and door keeps one time for the whole replay; where the counter-example used several, the
 * last and then the first of them is tried.
 */
import type { Rig } from '../model/rig';
import { createEngine, type Engine } from '../timing/engine';
import type { TimeChoice } from '../timing/program';
import type { Trace } from '../timing/trace';
import { isVented, type Property } from './monitor';
import type { ProofNetwork } from './network';
import { awayAt, breaks, standAt } from './trace-property';
import type { Duration, Operation, Witness } from './witness';

/** A little time after the last step, so that what breaks at that moment is seen to last. */
const AFTER = 1;
/** How long a rig may take to come to rest in a replay. */
const REST = 3_600_000_000;
/** Instants after which a rig left alone counts as neither at rest nor repeating. */
const INSTANTS = 20_000;

export interface Replay {
  readonly trace: Trace;
  /** The counter-example as replayed: later operations may have moved. */
  readonly witness: Witness;
  /** Null where the property is broken in the event engine as well, else why the counter-example does not count. */
  readonly doubt: string | null;
}

const OTHER_TIMES = 'a path that breaks it was found, but not one whose times stay the same from stroke to stroke';
const NO_ROUND = 'a door may be away from rest again and again, but no run that repeats itself shows it';

/** For every kind of property, a counter-example that ends where it breaks. */
export function replay(rig: Rig, property: Property, witness: Witness, network: ProofNetwork): Replay {
  return firstSound(witness, OTHER_TIMES, (durations) => {
    const { engine, enter } = prepare(rig, network, durations);
    witness.operations.forEach((operation) => enter(operation, 0));
    engine.advanceTo(witness.end + AFTER);
    if (property.kind === 'left-open' || property.kind === 'switched-off' || isVented(property)) comeToRest(engine);
    engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + AFTER));
    const trace = engine.trace();
    return { trace, witness, sound: breaks(property, rig, trace) };
  });
}

/**
 * A door away from rest as late as wanted: after `before` operations nothing is under way, and later ones move a door (`lasts`); or
 * the rig, left alone at the end, goes round for ever, or stands for ever, with a door away.
 */
export function replayLate(
  rig: Rig,
  { switches }: Extract<Property, { kind: 'switched-off' }>,
  witness: Witness,
  network: ProofNetwork,
  { before, lasts }: { before: number; lasts: boolean },
): Replay {
  return firstSound(witness, NO_ROUND, (durations) => {
    const { engine, enter } = prepare(rig, network, durations);
    const { from, ...attempt } = lasts
      ? lateMove(rig, witness, engine, enter, before)
      : lateRound(rig, witness, engine, enter);
    const { trace } = attempt;
    // Thrown by then, and not touched since.
    const thrown = standAt(switches, trace, from) && !trace.edges.some((e) => e.t > from && switches.has(e.net));
    return { ...attempt, sound: attempt.sound && thrown };
  });
}

interface Attempt {
  readonly trace: Trace;
  readonly witness: Witness;
  readonly sound: boolean;
}

function firstSound(witness: Witness, doubt: string, attempt: (durations: readonly Duration[]) => Attempt): Replay {
  const [last, first] = [() => attempt([...witness.durations].reverse()), () => attempt(witness.durations)];
  let found = last();
  if (!found.sound && witness.durations.length > 0) found = first();
  return { trace: found.trace, witness: found.witness, doubt: found.sound ? null : doubt };
}

interface LateAttempt extends Attempt {
  /** From here on the run could be as late as wanted. */
  readonly from: number;
}

type Enter = (operation: Operation, shift: number) => void;

function prepare(
  rig: Rig,
  network: ProofNetwork,
  durations: readonly Duration[],
): { readonly engine: Engine; readonly enter: Enter } {
  const pick = (what: Duration['what'], nominal: (index: number) => number) => (index: number) =>
    durations.find((d) => d.what === what && d.index === index)?.time ?? nominal(index);
  const times: Required<Omit<TimeChoice, 'scan'>> = {
    preset: pick('preset', (e) => rig.network.elements[e]!.preset?.nominal ?? 0),
    response: pick('response', (e) => rig.network.elements[e]!.response.nominal),
    opensIn: pick('opens', (d) => rig.doors[d]!.opensIn.nominal),
    closesIn: pick('closes', (d) => rig.doors[d]!.closesIn.nominal),
  };
  const initial = new Set(network.inputs.filter((input) => input.initial).map((input) => input.net));
  const engine = createEngine(rig, { inputs: (net) => initial.has(net), times });
  // Power comes, then inputs may turn, if only at the same moment.
  engine.advanceTo(0);
  const enter: Enter = ({ t, input, value }, shift) => {
    const { net, movedBehind } = network.inputs[input]!;
    engine.setInput(net, value, t + shift - (movedBehind < 0 ? 0 : times.response(movedBehind)));
  };
  return { engine, enter };
}

/** Runs until nothing is under way any more; false where that takes too long. */
function comeToRest(engine: Engine): boolean {
  const limit = engine.now + REST;
  while (engine.nextTime() < limit) engine.step();
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + AFTER));
  return engine.nextTime() === Infinity && engine.stopped === null;
}

function lateMove(rig: Rig, witness: Witness, engine: Engine, enter: Enter, before: number): LateAttempt {
  witness.operations.slice(0, before).forEach((operation) => enter(operation, 0));
  engine.advanceTo(witness.operations[before - 1]?.t ?? 0);
  const quiet = comeToRest(engine);
  const rested = engine.now;
  // Long after all has come to rest: a second, and whole scans in scan style.
  const from = witness.operations[before]?.t ?? witness.end;
  const step = rig.controller.style === 'scan' ? rig.controller.time.nominal : 1;
  const shift = Math.max(0, Math.ceil((rested + 1_000_000 - from) / step) * step);
  const later = witness.operations.map((o, k) => (k < before ? o : { ...o, t: o.t + shift }));
  witness.operations.slice(before).forEach((operation) => enter(operation, shift));
  engine.advanceTo(witness.end + shift + AFTER);
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + AFTER));
  const trace = engine.trace();
  const moves = trace.doors.flatMap((door) => door.moves.map((move) => move.t)).filter((t) => t > rested);
  const sound = quiet && [rested, ...moves].some((t) => rig.doors.some((_, d) => awayAt(rig, trace, d, t)));
  return { trace, witness: { ...witness, operations: later, end: witness.end + shift }, sound, from: rested };
}

function lateRound(rig: Rig, witness: Witness, engine: Engine, enter: Enter): LateAttempt {
  witness.operations.forEach((operation) => enter(operation, 0));
  engine.advanceTo(witness.end + AFTER);
  const met = new Map<string, number>();
  let from = engine.now;
  for (let k = 0; k < INSTANTS && engine.nextTime() < Infinity; k++) {
    engine.step();
    const key = engine.key();
    const earlier = met.get(key);
    from = earlier ?? engine.now;
    if (earlier !== undefined) break;
    met.set(key, engine.now);
  }
  const repeats = from < engine.now;
  const rests = engine.nextTime() === Infinity && engine.stopped === null;
  if (rests) engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + AFTER));
  const trace = engine.trace();
  const moments = rests ? [trace.end] : trace.doors.flatMap((d) => d.moves.map((m) => m.t)).filter((t) => t >= from);
  const away = [...moments, trace.end].some((t) => rig.doors.some((_, d) => awayAt(rig, trace, d, t)));
  return { trace, witness, sound: (repeats || rests) && away, from };
}
