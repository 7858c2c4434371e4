/**
 * What happens when a stroke does not go to plan: no trigger, the trigger held, chattering or lost, a manual switch thrown, power
 * lost. Moments tried: every instant of the stroke at which anything changes, and the middle of every stretch between two of them.
 *
 * Why these moments suffice in most rigs: between two instants the state differs only in how long timers have run and how far doors have
 * gone, so what an operation does there differs only in times, up to where it changes the order of two events. The middle of each stretch
 * is one witness of it. That is a sample, not a proof: "the worst of the moments tried" is claimed, with their number; every moment is
 * covered by `proof`, which costs more than a keystroke allows.
 *
 * Cost: operations × moments × edges of a run. Each trial starts from a snapshot taken while one engine walks along the stroke once, so
 * that the part before the operation is never run again.
 */
import { pathsToKeepShut, ventsOfPath } from '../model/intent';
import type { Rig } from '../model/rig';
import type { Path } from '../model/stages';
import { createEngine } from './engine';
import type { Engine, Snapshot } from './engine';
import type { Behaviour, Interval, StrokeFacts } from './facts';
import type { Work } from '../work/work';
import { doorsAreQuiet, patternWork } from './pattern';
import type { Program } from './program';
import { bringToRest } from './rest';
import { inputsBefore } from './trace';
import { intersectAll, openStretches } from './windows';

/** Moments tried per stroke; spread evenly where there are more. Large rigs get fewer, so that the cost grows with their size only. */
const MOST_MOMENTS = 40;
const FEWEST_MOMENTS = 8;
/** Edges of the stroke itself, times operations and moments: beyond it moments are thinned out. */
const EDGES_TRIED = 8_000;
/** Edges that a disturbed run may take before its states are compared: most fall quiet sooner. */
const PATIENCE = 400;
const CHATTER_FLIPS = 20;

/** What one trial shows, before it is known whether it is the worst of its kind. */
type Outcome = Pick<Behaviour, 'leftOpen' | 'straightThrough' | 'settles'>;
type Situation = Behaviour['situation'];

/** A way to disturb the rig at the present moment of an engine. */
interface Operation {
  readonly situation: Situation;
  readonly input: string;
  readonly apply: (engine: Engine) => void;
  /** Paths that it is not meant to open. */
  readonly paths: readonly Path[];
}

/** Behaviours of a rig in every situation, in steps; `strokes` are its triggers, `budget` the edges of one run. */
export function* behavioursOf(
  rig: Rig,
  program: Program,
  inputs: (net: number) => boolean,
  strokes: readonly StrokeFacts[],
  budget: number,
): Work<Behaviour[]> {
  const found: Behaviour[] = [];
  const engine = createEngine(rig, { program, inputs, budget });
  const powerUp = engine.snapshot();
  const pattern = yield* patternWork(engine);
  // The first row: power comes and nothing is operated. Everything since power-up counts, including what F_TRIG does at its first look.
  found.push({
    ...outcomeSince(pathsToKeepShut(rig), engine, powerUp, doorsAreQuiet(engine, pattern)),
    situation: 'no-trigger',
    input: '',
    at: null,
    tried: 1,
  });
  if (engine.stopped) return found;
  // A rig that runs by itself has no trigger to lose or to chatter; switches and power are tried where its pattern closed.
  if (strokes.every((stroke) => stroke.trigger.kind === 'power')) {
    found.push(...(yield* worstOf(rig, engine, [], switchesAndPower(rig, pathsToKeepShut(rig), inputs))));
    return [...found, ...strokes.map((stroke) => held(rig, stroke))];
  }
  for (const stroke of strokes) found.push(...(yield* strokeBehaviours(rig, program, stroke, budget)));
  return found;
}

function* strokeBehaviours(rig: Rig, program: Program, stroke: StrokeFacts, budget: number): Work<Behaviour[]> {
  const sensor = stroke.trigger;
  const before = inputsBefore(stroke);
  const { engine } = yield* bringToRest(rig, program, before, budget);
  engine.rebase();
  const rest = engine.snapshot();
  // Where the stroke is started by throwing a vent, the path that it is stated to open counts against nothing else that is operated.
  const paths = pathsToKeepShut(rig).filter((path) => !isVentedBy(rig, path, sensor.net));
  const chatter = yield* worstChatter(rig, engine, rest, stroke, paths);
  engine.restore(rest);
  // The trigger going back midway: the one operation that makes no sense before the trigger has come.
  const lost: Operation = {
    situation: 'lost',
    input: sensor.name,
    apply: (e) => e.setInput(sensor.net, !stroke.becomes),
    paths,
  };
  const trigger = (e: Engine) => e.setInput(sensor.net, stroke.becomes);
  const operations = [lost, ...switchesAndPower(rig, paths, before)];
  const affordable = Math.floor(EDGES_TRIED / (operations.length * Math.max(1, stroke.trace.edges.length)));
  const most = Math.max(FEWEST_MOMENTS, Math.min(MOST_MOMENTS, affordable));
  const worst = yield* worstOf(rig, engine, momentsOf(stroke, most), operations, trigger);
  return [held(rig, stroke), chatter, ...worst];
}

/** Whether throwing an input is stated to open a path. */
const isVentedBy = (rig: Rig, path: Path, net: number): boolean =>
  ventsOfPath(rig, path).some((vent) => rig.switches[vent.switch]!.net === net);

function switchesAndPower(rig: Rig, paths: readonly Path[], inputs: (net: number) => boolean): Operation[] {
  const switches = rig.switches.map((s): Operation => ({
    situation: 'switch',
    input: s.name,
    apply: (engine) => engine.setInput(s.net, !inputs(s.net)),
    // A switch stated to vent a path is meant to open it: so it is not a fault.
    paths: paths.filter((path) => !isVentedBy(rig, path, s.net)),
  }));
  return [...switches, { situation: 'power', input: '', apply: (engine) => engine.setPower(false), paths }];
}

/**
 * Tries each operation before the trigger (but not its loss) and at each moment after it; gives the worst outcome of each. Power that
 * goes while every door is shut and rests shut does what it does before the trigger.
 */
function* worstOf(
  rig: Rig,
  engine: Engine,
  moments: readonly number[],
  operations: readonly Operation[],
  trigger: (engine: Engine) => void = () => {},
): Work<Behaviour[]> {
  const worst: (Behaviour | null)[] = operations.map(() => null);
  // Every operation from one state; `engine` stands there again afterwards.
  function* tryAll(at: number | null): Work<void> {
    const state = engine.snapshot();
    // With all doors shut and resting shut, power loss moves nothing: the answer is that of the first trial.
    const still = at !== null && engine.allShut() && rig.doors.every((door) => door.rest === 'closed');
    for (const [i, operation] of operations.entries()) {
      if (at === null && operation.situation === 'lost') continue;
      if (still && operation.situation === 'power') continue;
      operation.apply(engine);
      const pattern = yield* patternWork(engine, PATIENCE);
      const outcome = outcomeSince(operation.paths, engine, state, doorsAreQuiet(engine, pattern));
      engine.restore(state);
      const { situation, input } = operation;
      const tried = (worst[i]?.tried ?? 0) + 1;
      const before = worst[i] ?? null;
      const worse = before === null || isWorse(outcome, before);
      worst[i] = worse ? { ...outcome, situation, input, at, tried } : { ...before, tried };
      yield;
    }
  }
  yield* tryAll(null);
  trigger(engine);
  for (const moment of moments) {
    yield* engine.advancing(moment);
    if (engine.stopped) break;
    yield* tryAll(moment);
  }
  return worst.filter((b): b is Behaviour => b !== null);
}

function momentsOf(stroke: StrokeFacts, most: number): number[] {
  // Beyond the pattern's end the run repeats, so an operation there does what it did one period earlier.
  const until = stroke.pattern?.to ?? stroke.trace.end;
  const times = new Set<number>([0]);
  for (const edge of stroke.trace.edges) if (edge.t <= until) times.add(edge.t);
  for (const { moves } of stroke.trace.doors) for (const m of moves) if (m.arrives <= until) times.add(m.arrives);
  const sorted = [...times].sort((a, b) => a - b);
  const moments = sorted.flatMap((t, i) => {
    const next = sorted[i + 1];
    const middle = next === undefined ? t : Math.floor((t + next) / 2);
    return middle > t ? [t, middle] : [t];
  });
  if (moments.length <= most) return moments;
  // Evenly by number, not by time: dense stretches are where orders of events change.
  return Array.from({ length: most }, (_, i) => moments[Math.floor((i * moments.length) / most)]!);
}

function held(rig: Rig, stroke: StrokeFacts): Behaviour {
  const left = stroke.doors.filter((d) => d.windows.some((w) => w.notShut.to === null)).map((d) => d.door);
  return {
    situation: 'held',
    input: stroke.trigger.name,
    at: null,
    leftOpen: left,
    straightThrough: stroke.straightThrough.flatMap(({ path, intervals }) =>
      intervals.map((interval) => ({ path, interval })),
    ),
    // The stroke as followed is the answer: its trace already holds the trigger.
    settles: stroke.pattern === null && stroke.trace.stopped === null ? stroke.trace.end : null,
    tried: 1,
  };
}

/** Flips the sensor on and off several times at short intervals, the last time off: the interval with the worst outcome. */
function* worstChatter(
  rig: Rig,
  engine: Engine,
  rest: Snapshot,
  stroke: StrokeFacts,
  paths: readonly Path[],
): Work<Behaviour> {
  const { net, name } = stroke.trigger;
  // From about one response or scan, where chatter is half swallowed, to 200 ms, a slow contact (both common practice, no source).
  const step = Math.max(1000, rig.controller.time.nominal);
  let worst: Behaviour | null = null;
  for (const interval of [step, 2 * step, 5 * step, 200_000]) {
    engine.restore(rest);
    // An even number of flips: the sensor ends as it was before, so whatever still goes on was set off by the chatter alone.
    for (let i = 0; i < CHATTER_FLIPS; i++) engine.setInput(net, (i % 2 === 0) === stroke.becomes, i * interval);
    const pattern = yield* patternWork(engine, PATIENCE);
    const outcome = outcomeSince(paths, engine, rest, doorsAreQuiet(engine, pattern));
    const tried: number = (worst?.tried ?? 0) + 1;
    const worse: boolean = worst === null || isWorse(outcome, worst);
    worst = worse ? { ...outcome, situation: 'chatter', input: name, at: interval, tried } : { ...worst!, tried };
  }
  return worst!;
}

/** What the doors did since `state`; times from there. */
function outcomeSince(paths: readonly Path[], engine: Engine, state: Snapshot, quiet: boolean): Outcome {
  // Most operations move nothing; then no track need be built.
  if (engine.moves.length === state.doors.moves && engine.allShut()) {
    return { leftOpen: [], straightThrough: [], settles: quiet ? engine.now - state.now : null };
  }
  const tracks = engine.tracksSince(state);
  const stretches = tracks.map((track) => openStretches(track, state.now, engine.now));
  const leftOpen = stretches.flatMap((list, door) => (list.some((s) => s.notShut.to === null) ? [door] : []));
  const straightThrough = paths.flatMap((path) => {
    const open = intersectAll(path.doors.map((door) => stretches[door]!.map((s) => s.notShut)));
    return open.map((interval) => ({ path, interval: since(interval, state.now) }));
  });
  // In a run that goes on nothing is "left" open: an opening cut off by its end would only look endless.
  return { leftOpen: quiet ? leftOpen : [], straightThrough, settles: quiet ? engine.now - state.now : null };
}

const since = (x: Interval, zero: number): Interval => ({
  from: x.from - zero,
  to: x.to === null ? null : x.to - zero,
});

/**
 * Ranking of outcomes, worst first: time with a path straight open (that loses the charge), then doors left open, then how long it takes
 * to settle. Of equals the earliest moment stays, so that the answer does not depend on how many moments were tried.
 */
function isWorse(a: Outcome, b: Outcome): boolean {
  const lengthA = openLength(a);
  const lengthB = openLength(b);
  if (lengthA !== lengthB) return lengthA > lengthB;
  if (a.leftOpen.length !== b.leftOpen.length) return a.leftOpen.length > b.leftOpen.length;
  return (a.settles ?? Infinity) > (b.settles ?? Infinity);
}

function openLength({ straightThrough }: Outcome): number {
  return straightThrough.reduce((sum, { interval }) => sum + ((interval.to ?? Infinity) - interval.from), 0);
}
