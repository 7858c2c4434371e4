/**
 * Counter-examples that need a time to differ from use to use (a relay that drops out after 20 ms now and after 28 ms a stroke later, both within
 * its tolerance): replayed in the event engine with presets and responses changed during the run. Doors keep one travel.
 *
 * Zones allow a new value at every use, which is how real relays behave; so a path may have no solution with constant times and still be
 * no artefact. Such a verdict is marked `drifting`, because a user may hold it for less likely than one whose times stay.
 *
 * How: the engine reads its times from the columns of the program at the moment at which a use begins. They are set for one instant and
 * set back after it, so that only the uses beginning at that instant are touched.
 */
import type { Rig } from '../model/rig';
import { createEngine } from '../timing/engine';
import { compileProgram, type Program } from '../timing/program';
import type { Trace } from '../timing/trace';
import type { Work } from '../work/work';
import { isVented, type Property } from './monitor';
import type { ProofNetwork } from './network';
import { brokenAt } from './trace-property';
import type { Duration, Operation, Witness } from './witness';

/** Edges of a replay. */
const BUDGET = 200_000;

/** A run of the event engine in which a time differs from use to use. */
export interface DriftingRun {
  readonly witness: Witness;
  readonly trace: Trace;
}

/**
 * Null where the event engine does not break the property in such a run; properties about coming to rest are not tried. A use that runs out has
 * the time that the path gives it, every other one its latest. Inputs moved behind a response turn that response earlier: its latest and its least
 * time are tried.
 */
export function* replayDrifting(
  rig: Rig,
  property: Property,
  witness: Witness,
  network: ProofNetwork,
): Work<DriftingRun | null> {
  if (rig.controller.style === 'scan') return null;
  if (property.kind === 'left-open' || property.kind === 'switched-off' || isVented(property)) return null;
  for (const ahead of ['hi', 'lo'] as const) {
    yield;
    const run = driftingRun(rig, witness, network, ahead);
    const end = isInOrder(run.trace) ? brokenAt(property, rig, run.trace) : null;
    if (end !== null) return { trace: run.trace, witness: { ...run.witness, end } };
  }
  return null;
}

/** Runs the path with every use at the time that the path gives it; moved inputs by the response `ahead`. */
function driftingRun(rig: Rig, witness: Witness, network: ProofNetwork, ahead: 'hi' | 'lo'): DriftingRun {
  const program = driftingProgram(rig, witness.durations);
  const inputs = new Set(network.inputs.filter((input) => input.initial).map((input) => input.net));
  const engine = createEngine(rig, { inputs: (net) => inputs.has(net), program, budget: BUDGET });
  const settings = witness.durations.filter(({ what }) => what === 'preset' || what === 'response').map(settingOf);
  const operations: Operation[] = [];
  for (const operation of witness.operations) {
    // An input moved behind a response: the path has the moment at which it shows; it turns one response before, with just that response.
    const { movedBehind, shift, net } = network.inputs[operation.input]!;
    const t = operation.t - shift[ahead];
    operations.push({ ...operation, t });
    if (movedBehind >= 0) settings.push({ at: t, what: 'response', index: movedBehind, time: shift[ahead] });
    engine.setInput(net, operation.value, t);
  }
  settings.sort((a, b) => a.at - b.at);
  // All settings of one moment together; undone in reverse, so that two of the same time leave what was there before.
  for (let k = 0; k < settings.length;) {
    const { at } = settings[k]!;
    if (at > 0) engine.advanceTo(at - 1);
    const restore: (() => void)[] = [];
    for (; k < settings.length && settings[k]!.at === at; k++) restore.push(set(program, settings[k]!));
    engine.advanceTo(at);
    for (const undo of restore.reverse()) undo();
  }
  engine.advanceTo(witness.end + 1);
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + 1));
  operations.sort((a, b) => a.t - b.t);
  return { trace: engine.trace(), witness: { ...witness, operations } };
}

/** What a use that begins at `at` takes. */
interface Setting {
  readonly at: number;
  readonly what: 'preset' | 'response';
  readonly index: number;
  readonly time: number;
}

const settingOf = ({ what, index, time, from }: Duration): Setting => ({
  at: from ?? 0,
  what: what === 'preset' ? 'preset' : 'response',
  index,
  time,
});

/** Changes one time of a program; calling what it gives changes it back. */
function set(program: Program, { what, index, time }: Setting): () => void {
  const column = program[what];
  const before = column[index]!;
  column[index] = time;
  return () => (column[index] = before);
}

/** The latest time everywhere, in columns of its own, and a lane for each element: changes of one element stay in order though their responses differ. */
function driftingProgram(rig: Rig, durations: readonly Duration[]): Program {
  const { elements } = rig.network;
  const travel = (what: Duration['what'], d: number, nominal: number): number =>
    durations.find((use) => use.what === what && use.index === d)?.time ?? nominal;
  const program = compileProgram(rig, {
    preset: (e) => elements[e]!.preset?.max ?? 0,
    response: (e) => elements[e]!.response.max,
    opensIn: (d) => travel('opens', d, rig.doors[d]!.opensIn.nominal),
    closesIn: (d) => travel('closes', d, rig.doors[d]!.closesIn.nominal),
  });
  return withLanes(program);
}

/** The program with a lane for each element that has a response, so that its times may be changed during a run. */
export function withLanes(program: Program): Program {
  const lane = Int32Array.from(program.response, (response, e) => (response === 0 ? -1 : e));
  return { ...program, lane, lanes: program.response.length };
}

/** A change that would have overtaken one before it comes out of its lane after its time: such a run does not count. */
export function isInOrder({ edges, stopped }: Trace): boolean {
  return stopped === null && edges.every(({ t }, k) => k === 0 || t >= edges[k - 1]!.t);
}
