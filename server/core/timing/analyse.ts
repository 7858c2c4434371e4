/** From a resolved rig to its facts about time. Pure; nominal times. */
import type { Rig } from '../model/rig';
import { behavioursOf } from './behaviours';
import { createEngine, initialInputs } from './engine';
import type { Engine } from './engine';
import type { Behaviour, StrokeFacts, TimingFacts } from './facts';
import { closePattern } from './pattern';
import type { Pattern } from './pattern';
import { compileProgram } from './program';
import type { Program } from './program';
import { runStroke } from './stroke';
import type { Trace } from './trace';

export interface TimingOptions {
  /** Edges per run before an answer is given up; 20 000 by default. */
  readonly budget?: number;
  /** Value of a sensor before the trigger, by index; by default as its chamber's starting contents give it. */
  readonly initiallyOn?: (sensor: number) => boolean;
}

interface Settled {
  readonly engine: Engine;
  readonly pattern: Pattern;
  readonly trace: Trace;
}

/** Works out the facts about time. Never throws on a resolved rig; what could not be settled within the budget is named in `incomplete`. */
export function analyseTiming(rig: Rig, options: TimingOptions = {}): TimingFacts {
  const program = compileProgram(rig);
  const inputs = startInputs(rig, options);
  const rest = settle(rig, program, options, inputs);
  const moves = movesForEver(rest) || opensByItself(rest.trace);
  const strokes = strokesOf(rig, program, options, inputs, rest);
  const stopped = rest.trace.stopped;
  let behaviours: readonly Behaviour[] | null = null;
  return {
    strokes,
    atRest: {
      trace: rest.trace,
      moves,
      loop: stopped?.reason === 'loop' ? { nets: stopped.nets, t: stopped.t } : null,
      openDoors: openDoors(rig, rest),
    },
    get behaviours() {
      behaviours ??= behavioursOf(rig, program, inputs, strokes, options.budget ?? 20_000);
      return behaviours;
    },
    incomplete: incompleteness(rest, strokes),
  };
}

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

/** Powers up and runs until quiet or repeating; the engine is then at a moment when a trigger may come, its trace kept. */
function settle(rig: Rig, program: Program, options: TimingOptions, inputs: (net: number) => boolean): Settled {
  const engine = createEngine(rig, { program, inputs, budget: options.budget ?? 20_000 });
  const pattern = closePattern(engine);
  if (!engine.stopped) engine.alignToScan();
  return { engine, pattern, trace: engine.trace() };
}

function movesForEver({ trace, pattern }: Settled): boolean {
  if (pattern.from === null) return false;
  return trace.doors.some((track) => track.moves.some((m) => m.t > pattern.from!));
}

/** A door that opens after power comes, with no flip; a `rest open` door that closes then only obeys its drive. */
function opensByItself(trace: Trace): boolean {
  return trace.doors.some((track) => track.moves.some((m) => m.to === 1));
}

function openDoors(rig: Rig, { engine, trace, pattern }: Settled): number[] {
  if (trace.stopped || (pattern.from !== null && movesForEver({ engine, trace, pattern }))) return [];
  return rig.doors.flatMap((door, index) => {
    const home = door.rest === 'open' ? 1 : 0;
    const track = trace.doors[index]!;
    const last = track.moves[track.moves.length - 1]?.to ?? track.initial;
    return last === home ? [] : [index];
  });
}

function strokesOf(
  rig: Rig,
  program: Program,
  options: TimingOptions,
  inputs: (net: number) => boolean,
  rest: Settled,
): StrokeFacts[] {
  if (rest.trace.stopped) return [];
  if (movesForEver(rest)) return invertedStrokes(rig, program, options, inputs);
  rest.engine.rebase();
  const start = rest.engine.snapshot();
  return rig.sensors.flatMap((sensor, index) => {
    rest.engine.restore(start);
    return runStroke(rig, rest.engine, index, !inputs(sensor.net)) ?? [];
  });
}

/**
 * A rig that strokes with no flip: where it stands still with one sensor the other way round, that sensor going back is its trigger.
 */
function invertedStrokes(
  rig: Rig,
  program: Program,
  options: TimingOptions,
  inputs: (net: number) => boolean,
): StrokeFacts[] {
  return rig.sensors.flatMap((sensor, index) => {
    const turned = (net: number) => (net === sensor.net ? !inputs(net) : inputs(net));
    const held = settle(rig, program, options, turned);
    if (held.trace.stopped || movesForEver(held)) return [];
    held.engine.rebase();
    return runStroke(rig, held.engine, index, inputs(sensor.net)) ?? [];
  });
}

function incompleteness(rest: Settled, strokes: readonly StrokeFacts[]): string | null {
  if (rest.trace.stopped?.reason === 'budget')
    return 'the rig does not come to rest, nor repeat, within the number of changes looked at';
  if (strokes.some((s) => s.trace.stopped?.reason === 'budget'))
    return 'the strokes do not repeat within the number of changes looked at';
  return null;
}
