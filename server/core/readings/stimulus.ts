/** One and the same course of operations for a sound rig and every faulty one: from power-on, through a stroke or a scenario. */
import type { Rig, Scenario } from '../model/rig';
import { createEngine, initialInputs } from '../timing/engine';
import type { TimingFacts } from '../timing/facts';
import { inputsBefore, shiftedTrace, type Trace } from '../timing/trace';
import { finish, type Work } from '../work/work';
import { alignWork, measuredLog } from './align';
import { lineTracks, operatedLines, type LineTrack } from './line-tracks';
import type { RigLog } from './log';
import { say } from '../words/say';

export interface Stimulus {
  readonly label: string;
  /** What goes on in it, or null for the trigger alone. */
  readonly scenario: Scenario | null;
  readonly inputs: (net: number) => boolean;
  /** Operations after the start, µs; net −1 is power. */
  readonly operations: readonly { readonly t: number; readonly net: number; readonly on: boolean }[];
  /** Time given to the rig to come to rest from power-on; time zero of what is observed. */
  readonly rest: number;
  readonly length: number;
  /** Inputs that act as they were logged; then its time zero is the first moment of the log. Otherwise empty. */
  readonly given: ReadonlySet<number>;
}

/** A trace with what runs beside the doors: one track per feed and draw. */
export interface Followed extends Trace {
  readonly lines: readonly LineTrack[];
}

const NONE: ReadonlySet<number> = new Set();

const LONGEST_REST = 120_000_000;
const BUDGET = 20_000;

/** Strokes of every trigger, then every scenario. */
export function stimuliOf(rig: Rig, timing: TimingFacts): Stimulus[] {
  const rest = Math.min(LONGEST_REST, 2 * sumOfTimes(rig) + 1_000_000);
  const strokes = timing.strokes.map((stroke): Stimulus => {
    const { net, name, kind } = stroke.trigger;
    const ends = Math.max(stroke.strokeEnds ?? 0, lastOf(rig, stroke));
    const length = Math.max(2 * (stroke.repeat ?? 0), 1.5 * ends, 1_000_000);
    const byPower = kind === 'power';
    return {
      label: byPower ? say`from power-on` : stroke.becomes ? say`after ${name} goes on` : say`after ${name} goes off`,
      scenario: null,
      inputs: inputsBefore(stroke),
      operations: byPower ? [] : [{ t: 0, net, on: stroke.becomes }],
      rest: byPower ? 0 : rest,
      length: Math.round(length),
      given: NONE,
    };
  });
  return [...strokes, ...rig.scenarios.map((scenario) => scenarioStimulus(rig, scenario, rest))];
}

/** When the last door, feed or draw of a stroke that does not repeat does something: a door may stay open, and then the stroke has no end. */
function lastOf(rig: Rig, { repeat, trace }: TimingFacts['strokes'][number]): number {
  if (repeat !== null) return 0;
  const nets = new Set(rig.drives.flatMap((d) => (d.kind === 'door' ? [] : [d.net])));
  const switched = trace.edges.reduce((last, e) => (nets.has(e.net) ? Math.max(last, e.t) : last), 0);
  return trace.doors.reduce((last, { moves }) => Math.max(last, moves.at(-1)?.arrives ?? 0), switched);
}

function scenarioStimulus(rig: Rig, scenario: Scenario, rest: number): Stimulus {
  const operations = scenario.steps.flatMap(({ at, action, target, on }) => {
    if (action === 'power') return [{ t: at.nominal, net: -1, on }];
    const input = action === 'switch' ? rig.switches[target] : action === 'sensor' ? rig.sensors[target] : undefined;
    return input ? [{ t: at.nominal, net: input.net, on }] : [];
  });
  const last = Math.max(0, ...operations.map((o) => o.t));
  const length = scenario.duration?.nominal ?? last + sumOfTimes(rig) + 1_000_000;
  const label = say`in scenario ${scenario.name}`;
  return { label, scenario, inputs: initialInputs(rig), operations, rest, length, given: NONE };
}

/** The course that the logged sensors and switches drove; null where the log has none. Time zero is the first moment of the log. */
export function loggedStimulus(rig: Rig, log: RigLog): Stimulus | null {
  const inputs = log.states.filter(({ net }) => rig.network.nets[net]!.kind !== 'element');
  if (inputs.length === 0) return null;
  const initially = initialInputs(rig);
  const first = new Map(inputs.map(({ net, states }) => [net, states.find((s) => s >= 0) === 1]));
  const origin = log.times[0]!;
  const operations = inputs.flatMap(({ net, states }) => {
    let last = first.get(net) ? 1 : 0;
    const changes: { t: number; net: number; on: boolean }[] = [];
    states.forEach((s, k) => {
      if (s < 0 || s === last) return;
      // It changed somewhere in the step that ends here.
      changes.push({
        t: Math.round(0.5 * (log.times[k]! + log.times[Math.max(0, k - 1)]!) - origin),
        net,
        on: s === 1,
      });
      last = s;
    });
    return changes;
  });
  return {
    label: say`with the inputs as logged`,
    scenario: null,
    inputs: (n) => first.get(n) ?? initially(n),
    operations: operations.sort((a, b) => a.t - b.t),
    rest: Math.min(LONGEST_REST, 2 * sumOfTimes(rig) + 1_000_000),
    length: log.times.at(-1)! - origin,
    given: new Set(inputs.map(({ net }) => net)),
  };
}

/**
 * What the rig went through while a log was taken: the scenario named; or its inputs as logged, where what starts a stroke changes in them;
 * or the trigger that suits the readings best, which goes on and holds. Null where nothing starts a stroke.
 */
export const stimulusOf = (...asked: Parameters<typeof stimulusWork>): Stimulus | null =>
  finish(stimulusWork(...asked));

/** The same in steps. */
export function* stimulusWork(
  rig: Rig,
  timing: TimingFacts,
  log: RigLog,
  scenario: Scenario | null,
): Work<Stimulus | null> {
  const all = stimuliOf(rig, timing);
  if (scenario) return all.find((s) => s.scenario === scenario) ?? null;
  const logged = loggedStimulus(rig, log);
  if (logged?.operations.some(({ net }) => timing.strokes.some((s) => s.trigger.net === net))) return logged;
  const strokes = all.filter((s) => s.scenario === null);
  if (strokes.length < 2) return strokes[0] ?? null;
  const measured = measuredLog(log);
  const length = log.times.at(-1)! - log.times[0]!;
  const costs: number[] = [];
  for (const stroke of strokes) {
    yield;
    const trace = follow(rig, rig, stroke, Math.max(stroke.length, length));
    costs.push((yield* alignWork(measured, trace, true)).cost);
  }
  return strokes[costs.indexOf(Math.min(...costs))]!;
}

/** Follows it; `null` is the sound rig without supply. Time zero is the end of the rest; the trace begins at power-on. */
export function follow(sound: Rig, faulty: Rig | null, stimulus: Stimulus, length = stimulus.length): Followed {
  const engine = createEngine(faulty ?? sound, { inputs: stimulus.inputs, budget: BUDGET });
  if (faulty === null) engine.setPower(false, 0);
  for (const { t, net, on } of stimulus.operations) {
    if (net >= 0) engine.setInput(net, on, stimulus.rest + t);
    else if (faulty !== null) engine.setPower(on, stimulus.rest + t);
  }
  engine.advanceTo(stimulus.rest + length);
  const trace = shiftedTrace(engine.trace(), -stimulus.rest);
  return { ...trace, lines: lineTracks(faulty ?? sound, trace, operatedLines(stimulus.scenario, 0)) };
}

function sumOfTimes(rig: Rig): number {
  const presets = rig.network.elements.reduce((sum, e) => sum + (e.preset?.nominal ?? 0) + e.response.nominal, 0);
  return presets + rig.doors.reduce((sum, d) => sum + d.opensIn.nominal + d.closesIn.nominal, 0);
}
