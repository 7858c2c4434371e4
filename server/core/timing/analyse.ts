/**
 * From a resolved rig to its facts about time. Pure; nominal times.
 *
 * The idea: a rig without a scenario still has one run that everybody means, the stroke that follows its trigger. It is found by trial
 * instead of by reading the text: the rig is powered up and run until it rests, then each input is flipped alone and held, and a flip that
 * moves a door is a trigger. The order of preference, each tried only where the one before gives nothing:
 *  1. sensors, one stroke each, from the rig at rest;
 *  2. a sensor going back, for a rig that strokes by itself as long as that sensor stands as it does (`invertedStrokes`); from the rest
 *     that it stands still in, also the sensors that move other doors (another stage);
 *  3. switches;
 *  4. one input after others have been turned (`waitingStrokes`);
 *  5. power alone (`runFree`), where the rig never rests.
 * A trial changes nothing for the next one: every one begins from the same snapshot of the engine.
 */
import { doorDrives } from '../model/logic';
import type { Rig } from '../model/rig';
import { formatTime } from '../units/units';
import { behavioursOf } from './behaviours';
import { initialInputs } from './engine';
import type { Engine } from './engine';
import type { Behaviour, StrokeFacts, TimingFacts, Trigger } from './facts';
import { compileProgram } from './program';
import type { Program, TimeChoice } from './program';
import { EDGE_BUDGET, bringToRest, doorsMovingForEver, movesForEver } from './rest';
import type { AtRest } from './rest';
import { runFree, runStroke } from './stroke';
import type { Trace } from './trace';
import { whatItWaitsFor } from './waiting';
import { finish, type Kept, kept, standsBehind, type Work } from '../work/work';
import { say } from '../words/say';

export interface TimingOptions {
  /** One choice out of every time's tolerance; nominal by default. */
  readonly times?: TimeChoice;
  /** Edges per run before an answer is given up; 20 000 by default. */
  readonly budget?: number;
  /** Nets that runs are followed for until they are known to repeat, beside those that drive something. */
  readonly followed?: readonly number[];
  /** Value of a sensor before the trigger, by index; by default as its chamber's starting contents give it. */
  readonly initiallyOn?: (sensor: number) => boolean;
  /** Called with the work done by `factsWith`, in steps of the engine. It may throw to abandon the analysis: nothing half done is kept. */
  readonly whenWorked?: (steps: number) => void;
}

/** Computes the facts about time. Never throws on a resolved rig; what could not be settled within the budget is named in `incomplete`. */
export const analyseTiming = (rig: Rig, options: TimingOptions = {}): TimingFacts => finish(timingOf(rig, options));

/** The same in steps. */
export function* timingOf(rig: Rig, options: TimingOptions = {}): Work<TimingFacts> {
  const program = compileProgram(rig, options.times, options.followed);
  const inputs = startInputs(rig, options);
  const rest = yield* bringToRest(rig, program, inputs, budgetOf(options));
  const moving = doorsMovingForEver(rest);
  const moves = moving.length > 0;
  const alone = yield* strokesOf(rig, program, options, inputs, rest);
  const waits = alone.length === 0 ? yield* waitingStrokes(rig, program, options, inputs, rest) : null;
  const strokes = waits?.strokes ?? alone;
  const turned = waits?.turned ?? [];
  const stopped = rest.trace.stopped;
  // Behaviours cost many times what the strokes do, and hovers or the diagram never read them: computed when first read, then kept.
  const behaviours = kept<readonly Behaviour[]>(() => behavioursOf(rig, program, inputs, strokes, budgetOf(options)));
  const facts: TimingFacts = {
    strokes,
    turned,
    atRest: {
      trace: rest.trace,
      moves,
      movingDoors: moving,
      loop: stopped?.reason === 'loop' ? { nets: stopped.nets, t: stopped.t } : null,
      openDoors: openDoors(rig, rest, moving),
    },
    get behaviours() {
      return behaviours.value();
    },
    incomplete: incompleteness(rig, rest, strokes),
  };
  standsBehind(facts, 'behaviours', behaviours);
  MADE_WITH.set(facts, options);
  return facts;
}

/** What facts were computed with. */
const MADE_WITH = new WeakMap<TimingFacts, TimingOptions>();

/** The same followed further, by the nets. */
const FOLLOWED = new WeakMap<TimingFacts, Map<string, Kept<TimingFacts>>>();

/** The facts of a rig computed again with the same options, its runs followed until these nets repeat, too. */
export function followingNets(rig: Rig, facts: TimingFacts, followed: readonly number[]): TimingFacts {
  let known = FOLLOWED.get(facts);
  if (!known) FOLLOWED.set(facts, (known = new Map()));
  const key = followed.join();
  let further = known.get(key);
  if (!further) known.set(key, (further = kept(() => timingOf(rig, { ...MADE_WITH.get(facts), followed }))));
  return further.value();
}

const budgetOf = (options: TimingOptions): number => options.budget ?? EDGE_BUDGET;

function startInputs(rig: Rig, options: TimingOptions): (net: number) => boolean {
  const byDefault = initialInputs(rig);
  const { initiallyOn } = options;
  if (!initiallyOn) return byDefault;
  const sensorOf = new Map(rig.sensors.map((s, index) => [s.net, index]));
  return (net) => {
    const sensor = sensorOf.get(net);
    return sensor === undefined ? byDefault(net) : initiallyOn(sensor);
  };
}

/** A door that opens after power comes, with no flip; a `rest open` door that closes then only obeys its drive. */
function opensByItself(trace: Trace): boolean {
  return trace.doors.some((track) => track.moves.some((m) => m.to === 1));
}

/** Doors that stay open permanently, also beside some that go on moving. A trace that was stopped shows no settled position: none. */
function openDoors(rig: Rig, { trace }: AtRest, moving: readonly number[]): number[] {
  if (trace.stopped) return [];
  return rig.doors.flatMap((_, index) => {
    if (moving.includes(index)) return [];
    const track = trace.doors[index]!;
    const last = track.moves[track.moves.length - 1]?.to ?? track.initial;
    return last === 0 ? [] : [index];
  });
}

const sensorTriggers = (rig: Rig): Trigger[] => rig.sensors.map(({ net, name }) => ({ kind: 'sensor', net, name }));

const switchTriggers = (rig: Rig): Trigger[] => rig.switches.map(({ net, name }) => ({ kind: 'switch', net, name }));

/** Strokes of the sensors; where no sensor starts one, those of the switches. A rig that never rests may run by itself. */
function* strokesOf(
  rig: Rig,
  program: Program,
  options: TimingOptions,
  inputs: (net: number) => boolean,
  rest: AtRest,
): Work<StrokeFacts[]> {
  // A run that was cut short has no state to flip inputs in; `incomplete`, or the loop, says so.
  if (rest.trace.stopped) return [];
  if (movesForEver(rest)) {
    const inverted = yield* invertedStrokes(rig, program, options, inputs);
    return inverted.length > 0 ? inverted : [yield* runFree(rig, rest)];
  }
  // From here time zero is the moment of the flip.
  rest.engine.rebase();
  const flip = flipping(rig, rest.engine, inputs);
  const strokes = yield* flip(sensorTriggers(rig));
  if (strokes.length > 0) return strokes;
  // What happens once as power comes does not keep a rig from having its strokes.
  const inverted = opensByItself(rest.trace) ? yield* invertedStrokes(rig, program, options, inputs) : [];
  if (inverted.length > 0) return inverted;
  return yield* flip(switchTriggers(rig));
}

/** Flips inputs of a rig at rest one at a time, and goes back each time. */
function flipping(
  rig: Rig,
  engine: Engine,
  inputs: (net: number) => boolean,
): (triggers: readonly Trigger[]) => Work<StrokeFacts[]> {
  const start = engine.snapshot();
  return function* (triggers) {
    const strokes: StrokeFacts[] = [];
    for (const trigger of triggers) {
      // The engine is shared by all trials; the snapshot makes each of them independent of those before.
      engine.restore(start);
      const stroke = yield* runStroke(rig, engine, trigger, !inputs(trigger.net));
      if (stroke) strokes.push(stroke);
      yield;
    }
    return strokes;
  };
}

/** Strokes of a rig that no single change starts, with the inputs turned that it waits for. */
function* waitingStrokes(
  rig: Rig,
  program: Program,
  options: TimingOptions,
  inputs: (net: number) => boolean,
  rest: AtRest,
): Work<{ readonly strokes: StrokeFacts[]; readonly turned: readonly number[] } | null> {
  if (rest.trace.stopped || doorDrives(rig).length === 0) return null;
  const found = yield* whatItWaitsFor(rig, program, inputs, budgetOf(options));
  if (found === null) return null;
  const { turned, rest: held } = found;
  // An input that was turned to get here is not flipped back: that would only undo the preparation.
  const others = (list: Trigger[]) => list.filter((t) => !turned.includes(t.net));
  const flip = flipping(rig, held.engine, inputs);
  const bySensor = yield* flip(others(sensorTriggers(rig)));
  return { turned, strokes: bySensor.length > 0 ? bySensor : yield* flip(others(switchTriggers(rig))) };
}

/**
 * A rig that strokes with no flip, repeatedly or once as it is switched on: where it stands still with one sensor the other way
 * round, that sensor going back is its trigger.
 */
function* invertedStrokes(
  rig: Rig,
  program: Program,
  options: TimingOptions,
  inputs: (net: number) => boolean,
): Work<StrokeFacts[]> {
  const strokes: StrokeFacts[] = [];
  let still: ((triggers: readonly Trigger[]) => Work<StrokeFacts[]>) | null = null;
  for (const sensor of sensorTriggers(rig)) {
    // Power comes with the sensor turned; its return to the value that the text gives is then the trigger's edge.
    const turned = (net: number) => (net === sensor.net ? !inputs(net) : inputs(net));
    const held = yield* bringToRest(rig, program, turned, budgetOf(options));
    if (held.trace.stopped || movesForEver(held)) continue;
    held.engine.rebase();
    const flip = flipping(rig, held.engine, turned);
    const found = yield* flip([sensor]);
    strokes.push(...found);
    if (found.length > 0) still ??= flip;
  }
  if (still === null) return [];
  const triggers = new Set(strokes.map((stroke) => stroke.trigger.net));
  const others = yield* still(sensorTriggers(rig).filter(({ net }) => !triggers.has(net)));
  const moved = new Set(strokes.flatMap(doorsOf));
  return [...strokes, ...others.filter((stroke) => doorsOf(stroke).some((door) => !moved.has(door)))];
}

/** Doors that a stroke moves. */
const doorsOf = ({ trace }: StrokeFacts): number[] =>
  trace.doors.flatMap((track, door) => (track.moves.length > 0 ? [door] : []));

function incompleteness(rig: Rig, rest: AtRest, strokes: readonly StrokeFacts[]): string | null {
  if (rest.trace.stopped?.reason === 'budget')
    return say`the rig does not come to rest, nor repeat, within the number of changes looked at`;
  if (strokes.some((s) => s.trace.stopped?.reason === 'budget'))
    return say`the strokes do not repeat within the number of changes looked at`;
  // Groups that drift have no common pattern: windows between their doors were seen for a while only, which has to be said.
  const drifting = strokes.find((s) => s.intervals.length > 0);
  return drifting ? driftOf(rig, drifting) : null;
}

function driftOf(rig: Rig, { intervals, trace }: StrokeFacts): string {
  const moving = intervals.filter((x) => x.doors.length > 0);
  const each = moving.map(
    (x) => say`${x.doors.map((d) => rig.doors[d]!.name).join(', ')} every ${formatTime(x.interval)}`,
  );
  return say`groups of doors repeat at intervals of their own (${each.join('; ')}) and drift against each other; what is said between them holds for the first ${formatTime(trace.end)} only`;
}
