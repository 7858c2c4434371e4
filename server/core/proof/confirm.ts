/**
 * Replays a counter-example in the event engine, which shares no code with the proof's own steps, and looks whether the property is
 * broken there, too. Each element and door keeps one time for the whole replay; where the counter-example used several, the
 * last and then the first of them is tried.
 *
 * Why replay at all: a zone that was widened (`extrapolate`, loosened networks, cuts) may hold states that no run reaches, so a path to
 * "broken" is a suspicion. The event engine turns it into a fact, to the microsecond, and into something a person can enter as a scenario.
 * What it does not confirm is reported as undecided; that a fault of the zone engine could pass as a refutation is thereby excluded.
 *
 * Why shorten: a search finds paths with the fewest operations, but in moments that only just fit. Operations that change nothing are left
 * out and the rest moved together, each time asking the event engine again.
 */
import type { Rig } from '../model/rig';
import { createEngine, type Engine } from '../timing/engine';
import { engineFrom, restMomentWork } from '../timing/rest';
import { compileProgram, type TimeChoice } from '../timing/program';
import type { Trace } from '../timing/trace';
import type { Work } from '../work/work';
import { coneOf, withinCone } from './cone';
import { isVented, restingDoors, type Property } from './monitor';
import type { ProofNetwork } from './network';
import { awayAt, brokenAt, standAt } from './trace-property';
import { LESS_IN_DOUBT, type Duration, type Operation, type Witness } from './witness';
import { say } from '../words/say';

/** A little time after the last step, so that what breaks at that moment is seen to last. */
const AFTER = 1;
/** How long a rig may take to come to rest in a replay. */
const REST = 3_600_000_000;
/** Edges of a replay. */
const BUDGET = 200_000;
/** Instants after which a rig left alone counts as neither at rest nor repeating. */
const INSTANTS = 20_000;
/** Instants in one step of a replay. */
const BATCH = 50;

export interface Replay {
  readonly trace: Trace;
  /** The counter-example as a person can follow it: operations when the switch or sensor turns, `end` when the property breaks in the replay. */
  readonly witness: Witness;
  /** Null where the property is broken in the event engine as well, else why the counter-example does not count. */
  readonly doubt: string | null;
}

const OTHER_TIMES = (): string =>
  say`a path that breaks it was found, but no run of the rig with constant times follows it; ${LESS_IN_DOUBT()}`;
const NO_ROUND = (): string =>
  say`a door may be away from rest again and again, but no run that repeats itself shows it`;

/**
 * For every kind of property, a counter-example that ends where it breaks. Operations that it does not need are dropped and the others
 * drawn together, as long as the event engine still breaks the property.
 */
export function* replay(rig: Rig, property: Property, witness: Witness, network: ProofNetwork): Work<Replay> {
  const isAboutRest = property.kind === 'left-open' || property.kind === 'switched-off' || isVented(property);
  // Only properties about rest need to know when things are calm; for the others the second engine is saved.
  const cone = isAboutRest ? coneOf(rig, property) : null;
  return yield* firstSound(witness, OTHER_TIMES(), function* (durations, start) {
    function* attempt(tried: readonly Operation[] | null): Work<Attempt> {
      const { engine, entered, engineOf, movedBefore } = yield* prepare(rig, network, durations, start);
      const operations = enterAll(engine, network, tried ?? witness.operations.map(entered));
      yield* engine.advancing(witness.end + start.delay + AFTER);
      // Whether and when it rests is a question of the cone alone: the rest of the rig may never do so.
      const alone = cone && engineOf(withinCone(rig, cone));
      const calm = alone ? yield* calmTimes(alone, network, operations, engine.now) : [];
      if (alone) yield* engine.advancing(alone.now);
      yield* engine.advancing(Math.max(engine.now, engine.doorsArrive() + AFTER));
      const trace = engine.trace();
      const end = brokenAt(property, rig, trace, calm);
      // An order counts from power-on: what doors did on the way to rest is part of it, and not in a trace that begins there.
      const isWhole = property.kind !== 'order' || start.from === 'power-on' || !movedBefore();
      return { trace, witness: { ...witness, operations, end: end ?? witness.end }, sound: end !== null && isWhole };
    }
    // First the path as it was found; only what breaks the property there is worth shortening.
    const found = yield* attempt(null);
    if (!found.sound) return found;
    return yield* shortened(found, function* (operations) {
      yield;
      return isAllowed(rig, network, operations) ? yield* attempt(operations) : null;
    });
  });
}

/** Tries of making one counter-example shorter. */
const TRIES = 60;

/** Drops operations one by one and two by two, then moves them earlier, each with all that follow it. */
function* shortened(
  found: Attempt,
  attempt: (operations: readonly Operation[]) => Work<Attempt | null>,
): Work<Attempt> {
  let best = found;
  let tries = 0;
  function* take(operations: readonly Operation[]): Work<boolean> {
    const next = tries++ < TRIES ? yield* attempt(operations) : null;
    if (!next?.sound) return false;
    best = next;
    return true;
  }
  // Singly, then in pairs: an input that goes on and off again can only be left out together.
  for (let width = 1; width <= 2; width++) {
    for (let k = 0; k + width <= best.witness.operations.length;) {
      const { operations } = best.witness;
      if (!(yield* take([...operations.slice(0, k), ...operations.slice(k + width)]))) k++;
    }
  }
  for (let k = 0; k < best.witness.operations.length; k++) {
    const { operations } = best.witness;
    // By halves: the whole distance first, in the end a microsecond; all later operations move along, so their distances stay.
    for (let by = operations[k]!.t - (operations[k - 1]?.t ?? 0); by >= 1; by = Math.floor(by / 2)) {
      const earlier = by;
      if (yield* take(operations.map((o, j) => (j < k ? o : { ...o, t: o.t - earlier })))) break;
    }
  }
  return best;
}

/** Whether operations keep the least on and off times of their inputs, and turn them each time. */
function isAllowed(rig: Rig, network: ProofNetwork, operations: readonly Operation[]): boolean {
  return network.inputs.every((input, index) => {
    const own = operations.filter((o) => o.input === index);
    const { minOn, minOff } = (input.kind === 'switch' ? rig.switches : rig.sensors)[input.index]!;
    // A shortened run must be one that the text allows: alternating, and no sooner than min_on and min_off.
    return own.every(({ t, value }, k) => {
      const before = own[k - 1];
      if (value === (before ? before.value : input.initial)) return false;
      // The value that ends is the one whose least time counts: on for min_on before it goes off.
      const least = Math.max(1, (value ? minOff?.min : minOn?.min) ?? 0);
      return before ? t - before.t >= least : t >= 0;
    });
  });
}

/**
 * A door away from rest as late as wanted: after `before` operations nothing is under way, and later ones move a door (`lasts`); or
 * the rig, left alone at the end, repeats without end, or comes to rest, with a door away.
 */
export function* replayLate(
  rig: Rig,
  property: Extract<Property, { kind: 'switched-off' }>,
  witness: Witness,
  network: ProofNetwork,
  { before, lasts }: { before: number; lasts: boolean },
): Work<Replay> {
  const { switches } = property;
  const resting = restingDoors(property, rig);
  return yield* firstSound(witness, NO_ROUND(), function* (durations, start) {
    const { engine, entered } = yield* prepare(rig, network, durations, start);
    const run: LateRun = { rig, resting, network, witness, engine, entered };
    const { from, ...attempt } = yield* lasts ? lateMove(run, before) : lateRound(run);
    const { trace } = attempt;
    // Thrown by then, and not touched since.
    const thrown = standAt(switches, trace, from) && !trace.edges.some((e) => e.t > from && switches.has(e.net));
    return { ...attempt, sound: attempt.sound && thrown };
  });
}

/** One run of the event engine, and whether it breaks the property. */
interface Attempt {
  readonly trace: Trace;
  readonly witness: Witness;
  readonly sound: boolean;
}

/** What the moments of a replay count from, and how much later than in the path its operations come. */
interface Start {
  readonly from: Witness['from'];
  readonly delay: number;
}

/**
 * A counter-example is easiest to follow on the rig at rest, as scenarios begin; then from power-on, with operations in the first evaluation;
 * and where the path needs them after it, a microsecond later.
 */
const STARTS: readonly Start[] = [
  { from: 'rest', delay: 0 },
  { from: 'power-on', delay: 0 },
  { from: 'power-on', delay: 1 },
];

/** The first choice of times and of the start with which an attempt is sound; else the last attempt, with the doubt. */
function* firstSound(
  witness: Witness,
  doubt: string,
  attempt: (durations: readonly Duration[], start: Start) => Work<Attempt>,
): Work<Replay> {
  // `find` in `prepare` takes the first entry of a time: reversed, that is the last use; as it is, the first.
  const choices = witness.durations.length > 0 ? [[...witness.durations].reverse(), witness.durations] : [[]];
  let found: Attempt | null = null;
  for (const durations of choices) {
    for (const start of STARTS) {
      yield;
      found = yield* attempt(durations, start);
      const { trace, witness: replayed, sound } = found;
      if (sound) return { trace, witness: { ...replayed, durations: used(durations), from: start.from }, doubt: null };
    }
  }
  return { trace: found!.trace, witness: found!.witness, doubt };
}

/** Of each time the one value that the replay had. */
function used(durations: readonly Duration[]): Duration[] {
  return durations.filter((d, k) => durations.findIndex((o) => o.what === d.what && o.index === d.index) === k);
}

interface LateAttempt extends Attempt {
  /** From here on the run could be as late as wanted. */
  readonly from: number;
}

/** The operation as it is made: an input moved behind a response turns that much earlier. */
type Entered = (operation: Operation) => Operation;

/** What the two kinds of late replay share. */
interface LateRun {
  readonly rig: Rig;
  readonly resting: readonly number[];
  readonly network: ProofNetwork;
  readonly witness: Witness;
  readonly engine: Engine;
  readonly entered: Entered;
}

/** Enters operations in order of time; gives them as entered. */
function enterAll(engine: Engine, network: ProofNetwork, operations: readonly Operation[]): Operation[] {
  const sorted = [...operations].sort((a, b) => a.t - b.t);
  for (const { t, input, value } of sorted) engine.setInput(network.inputs[input]!.net, value, t);
  return sorted;
}

interface Prepared {
  /** At the moment from which the replay counts. */
  readonly engine: Engine;
  readonly entered: Entered;
  /** The same for another rig of the same shape. */
  readonly engineOf: (rig: Rig) => Engine;
  /** Whether doors moved before that moment. */
  readonly movedBefore: () => boolean;
}

/** An engine with the times of a path, at the moment from which the replay counts. */
function* prepare(
  rig: Rig,
  network: ProofNetwork,
  durations: readonly Duration[],
  { from, delay }: Start,
): Work<Prepared> {
  // A time that the path never used stays nominal: any value would do.
  const pick = (what: Duration['what'], nominal: (index: number) => number) => (index: number) =>
    durations.find((d) => d.what === what && d.index === index)?.time ?? nominal(index);
  const times: Required<Omit<TimeChoice, 'scan'>> = {
    preset: pick('preset', (e) => rig.network.elements[e]!.preset?.nominal ?? 0),
    response: pick('response', (e) => rig.network.elements[e]!.response.nominal),
    opensIn: pick('opens', (d) => rig.doors[d]!.opensIn.nominal),
    closesIn: pick('closes', (d) => rig.doors[d]!.closesIn.nominal),
  };
  const initial = new Set(network.inputs.filter((input) => input.initial).map((input) => input.net));
  const inputs = (net: number): boolean => initial.has(net);
  const moment = from === 'rest' ? yield* restMomentWork(rig, inputs, compileProgram(rig, times)) : null;
  const powered = (of: Rig): Engine => createEngine(of, { inputs, times, budget: BUDGET });
  const engineOf = (of: Rig): Engine => engineFrom(powered(of), moment);
  const movedBefore = (): boolean => {
    const before = powered(rig);
    if (moment !== null) before.advanceTo(moment);
    return moment !== null && before.moveCount > 0;
  };
  const entered: Entered = ({ t, input, value }) => {
    const { movedBehind } = network.inputs[input]!;
    return { t: Math.max(0, t + delay - (movedBehind < 0 ? 0 : times.response(movedBehind))), input, value };
  };
  return { engine: engineOf(rig), entered, engineOf, movedBefore };
}

/**
 * Moments at which nothing is under way, one before each operation and one at the end, where it is so. Runs an engine to `end` and until it
 * comes to rest.
 */
function* calmTimes(
  engine: Engine,
  network: ProofNetwork,
  operations: readonly Operation[],
  end: number,
): Work<number[]> {
  const calm: number[] = [];
  for (const { t, input, value } of operations) {
    // A microsecond before the operation, where the state that it meets is seen as it has settled.
    if (t > engine.now) {
      yield* engine.advancing(t - 1);
      if (isQuiet(engine)) calm.push(engine.now);
    }
    engine.setInput(network.inputs[input]!.net, value, t);
    engine.advanceTo(t);
  }
  yield* engine.advancing(end);
  if (yield* comeToRest(engine)) calm.push(engine.now);
  return calm;
}

/** Nothing under way: no event to come, no door moving. */
const isQuiet = (engine: Engine): boolean =>
  engine.nextTime() === Infinity && engine.stopped === null && engine.doorsArrive() <= engine.now;

/** Runs until nothing is under way any more; false where that takes too long. */
function* comeToRest(engine: Engine): Work<boolean> {
  const limit = engine.now + REST;
  for (let k = 1; engine.nextTime() < limit; k++) {
    engine.step();
    if (k % BATCH === 0) yield;
  }
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + AFTER));
  return engine.nextTime() === Infinity && engine.stopped === null;
}

/** Waits until all is at rest, then makes the later operations a second after, and looks for a door that leaves. */
function* lateMove({ rig, resting, network, witness, engine, entered }: LateRun, before: number): Work<LateAttempt> {
  const first = enterAll(engine, network, witness.operations.slice(0, before).map(entered));
  engine.advanceTo(witness.operations[before - 1]?.t ?? 0);
  // Time passes only while nothing is under way, so the moment of the rest of the operations may be put off as far as one likes.
  const quiet = yield* comeToRest(engine);
  const rested = engine.now;
  // Long after all has come to rest: a second, and whole scans in scan style.
  const from = witness.operations[before]?.t ?? witness.end;
  const step = rig.controller.style === 'scan' ? rig.controller.time.nominal : 1;
  const shift = Math.max(0, Math.ceil((rested + 1_000_000 - from) / step) * step);
  const late = witness.operations.slice(before).map((o) => entered({ ...o, t: o.t + shift }));
  const operations = [...first, ...enterAll(engine, network, late)];
  yield* engine.advancing(witness.end + shift + AFTER);
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + AFTER));
  const trace = engine.trace();
  const moves = trace.doors.flatMap((door) => door.moves.map((move) => move.t)).filter((t) => t > rested);
  const away = [rested, ...moves].find((t) => resting.some((d) => awayAt(rig, trace, d, t)));
  const sound = quiet && away !== undefined;
  return { trace, witness: { ...witness, operations, end: away ?? witness.end + shift }, sound, from: rested };
}

/** Leaves the rig alone after the path until its state returns or it rests, and looks for a door away in what follows without end. */
function* lateRound({ rig, resting, network, witness, engine, entered }: LateRun): Work<LateAttempt> {
  const operations = enterAll(engine, network, witness.operations.map(entered));
  yield* engine.advancing(witness.end + AFTER);
  const met = new Map<string, number>();
  let from = engine.now;
  for (let k = 0; k < INSTANTS && engine.nextTime() < Infinity; k++) {
    engine.step();
    if (k % BATCH === 0) yield;
    // The whole state as text: the second time it is met closes a round, and the run from there on goes round without end.
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
  const away = [...moments, trace.end].find((t) => resting.some((d) => awayAt(rig, trace, d, t)));
  const sound = (repeats || rests) && away !== undefined;
  return { trace, witness: { ...witness, operations, end: away ?? witness.end }, sound, from };
}
