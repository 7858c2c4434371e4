/** Facts about flow of a rig from its timing facts: cheap answers at once, the dearer ones when they are first read. */
import type { FlowModel } from '../flow/balance';
import { startContents } from '../flow/balance';
import { Balance } from '../flow/balance';
import type { DoorPower } from '../flow/door-energy';
import { doorEnergy, peakDoorPower } from '../flow/door-energy';
import type {
  ChamberState,
  DetailFacts,
  EnergyFacts,
  Filling,
  FlowFacts,
  KeepUp,
  LongerInterval,
  StackStroke,
  StrokeFlow,
} from '../flow/facts';
import { modelFlow } from '../flow/flow-model';
import { LiquidOrifice, liquidFills } from '../flow/liquid-orifice';
import type { CutOff } from '../flow/orifice';
import { effectiveAreas, Orifice } from '../flow/orifice';
import type { StrokePattern } from '../flow/pattern';
import type { Program } from '../flow/program';
import { compileStroke } from '../flow/program';
import { sizeLine } from '../flow/sizing';
import { doubtAt, stateAt } from '../flow/states';
import { balanceMass, ceilingMass, strokeFrom } from '../flow/strokes';
import { massAt } from '../flow/vessel';
import type { Rig } from '../model/rig';
import type { StrokeFacts, TimingFacts } from '../timing/facts';
import { strokePattern } from './door-pattern';
import type { FillingOptions } from './filling';
import { FillingRun } from './filling';
import { modesOf } from './modes';

/** Value worked out when first asked for. */
function lazy<T>(make: () => T): () => T {
  let made: { readonly value: T } | null = null;
  return () => (made ??= { value: make() }).value;
}

export const doorPowers = (rig: Rig): DoorPower[] =>
  rig.doors.map((door) => ({
    moving: door.powerMoving?.nominal ?? 0,
    held: door.powerHeld?.nominal ?? 0,
    rest: door.rest === 'open' ? 1 : 0,
  }));

/** A rig's flow model with what the run layer needs beside it; what `flowFacts` is made from and metrics run on. */
export interface FlowRun {
  readonly rig: Rig;
  readonly model: FlowModel;
  readonly fill: (options?: FillingOptions) => Filling;
}

/** Follows the rig stroke by stroke with options of its own; null where there is no flow model. */
export function flowRun(rig: Rig): FlowRun | null {
  const { model } = modelFlow(rig);
  if (!model) return null;
  const modes = modesOf(rig);
  const powers = doorPowers(rig);
  return { rig, model, fill: (options) => new FillingRun(rig, model, modes, powers, options).run() };
}

/** Facts about flow; null for a rig without a medium or a stack. */
export function flowFacts(rig: Rig, timing: TimingFacts): FlowFacts | null {
  if (!rig.medium || rig.stacks.length === 0) return null;
  const { model, problems } = modelFlow(rig);
  if (!model) return emptyFacts(problems);
  const run = flowRun(rig)!;
  const strokes = timing.strokes.flatMap((stroke, index) => strokeFlow(rig, model, stroke, index) ?? []);
  const emptying = lazy(() => emptyingOf(run, strokes[0] ? triggerMasses(rig, model, timing.strokes[0]!) : null));
  const filling = lazy(() => (strokes.length > 0 ? run.fill({ strokes: 2_000 }) : null));
  const details = timing.strokes.map((stroke) => lazy(() => detailOf(rig, model, stroke)));
  return {
    problems,
    medium: { name: model.law.name, title: model.law.title, phase: model.law.phase },
    start: rig.chambers.map((_, k) => stateAt(model, k, model.start[k]!)),
    lines: rig.lines.map((line, k) => sizeLine(line, k, model.law)),
    strokes,
    doubts: doubtsOf(rig, model, strokes),
    get emptying() {
      return emptying();
    },
    get filling() {
      return filling();
    },
    detail: (stroke) => details[stroke]?.() ?? null,
    detailNote: detailNote(rig, model),
  };
}

function emptyFacts(problems: FlowFacts['problems']): FlowFacts {
  return {
    problems,
    medium: null,
    start: [],
    lines: [],
    strokes: [],
    doubts: [],
    emptying: null,
    filling: null,
    detail: () => null,
    detailNote: '',
  };
}

/** Contents at the start, with the trigger's chamber brought to the threshold that starts the stroke if it is not beyond it yet. */
export function triggerMasses(rig: Rig, model: FlowModel, stroke: StrokeFacts): number[] {
  const masses = [...model.start];
  const sensor = rig.sensors[stroke.sensor];
  const threshold = stroke.becomes ? sensor?.on : (sensor?.clears ?? sensor?.on);
  const vessel = sensor && model.vessels[sensor.chamber];
  if (!sensor || !threshold || !vessel) return masses;
  const at = massAt(model.law, vessel, threshold.sensed, threshold.value.nominal, vessel.temperature);
  if (at === null) return masses;
  const was = masses[sensor.chamber]!;
  const rising = (threshold.side === 'above') === stroke.becomes;
  masses[sensor.chamber] = rising ? Math.max(was, at) : Math.min(was, at);
  return masses;
}

function strokeFlow(rig: Rig, model: FlowModel, stroke: StrokeFacts, index: number): StrokeFlow | null {
  if (stroke.trace.stopped) return null;
  const pattern = strokePattern(rig, stroke);
  const program = compileStroke(model.network, pattern);
  const trigger = triggerMasses(rig, model, stroke);
  const atTrigger = strokeFrom(model, program, trigger);
  const atStart = strokeFrom(model, program, model.start);
  const interval = pattern.repeats ? pattern.duration / 1e6 / Math.max(1, pattern.strokes) : null;
  const context: StrokeContext = { rig, model, stroke, pattern, program, trigger, interval };
  const keepUp = lazy(() => keepUpOf(context));
  const energy = lazy(() => energyOf(context, atTrigger.work, movedMass(rig, atTrigger.gains)));
  return {
    stroke: index,
    interval,
    gains: Array.from(atTrigger.gains),
    stacks: rig.stacks.flatMap((_, stack) => stackStroke(context, stack, atStart.gains, atTrigger.gains) ?? []),
    trapped: atTrigger.trapped,
    get keepUp() {
      return keepUp();
    },
    get energy() {
      return energy();
    },
  };
}

interface StrokeContext {
  readonly rig: Rig;
  readonly model: FlowModel;
  readonly stroke: StrokeFacts;
  readonly pattern: StrokePattern;
  readonly program: Program;
  readonly trigger: readonly number[];
  readonly interval: number | null;
}

/** kg that reach the last chambers of the stacks, each chamber once. */
function movedMass(rig: Rig, gains: Float64Array): number {
  const ends = new Set(rig.stacks.map((stack) => stack.members[stack.members.length - 1]!.index));
  let sum = 0;
  for (const end of ends) sum += Math.max(0, gains[end] ?? 0);
  return sum;
}

function stackStroke(
  context: StrokeContext,
  stack: number,
  atStart: Float64Array,
  atTrigger: Float64Array,
): StackStroke | null {
  const { rig, model, program, trigger } = context;
  const { members } = rig.stacks[stack]!;
  const from = members[0]!.index;
  const to = members[members.length - 1]!.index;
  const limit = rig.chambers[to]?.limit ?? null;
  const vessel = model.vessels[to]!;
  const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
  const atLimit = most === null ? null : strokeFrom(model, program, withMass(trigger, to, most)).gains[to]!;
  const ceiling = ceilingOf(context, to, atTrigger[to]!);
  return { stack, from, to, atStart: atStart[to]!, atTrigger: atTrigger[to]!, atLimit, ...ceiling };
}

const withMass = (masses: readonly number[], chamber: number, mass: number): number[] =>
  masses.map((m, k) => (k === chamber ? mass : m));

function ceilingOf(
  { rig, model, program, trigger }: StrokeContext,
  to: number,
  gain: number,
): { ceiling: ChamberState | null; ceilingNote: string } {
  if (!(gain > 0)) return { ceiling: null, ceilingNote: 'a stroke moves nothing into it even at the start' };
  if (model.network.measured.some((m) => m.to === to)) {
    return { ceiling: null, ceilingNote: 'strokes move a measured fraction, whatever it holds' };
  }
  const { members } = rig.stacks.find((stack) => stack.members[stack.members.length - 1]!.index === to)!;
  if (members.filter((m) => m.kind === 'chamber').length > 2) {
    return { ceiling: null, ceilingNote: 'it depends on what the chambers in between hold' };
  }
  const mass = ceilingMass(model, program, trigger, to);
  if (mass === null) return { ceiling: null, ceilingNote: 'there is none: nothing of the pockets is left unswept' };
  const state = stateAt(model, to, mass);
  const doubt = doubtAt(model, to, state);
  if (doubt && model.law.phase === 'liquid') {
    return { ceiling: null, ceilingNote: 'there is none below 100 MPa, where the law of the liquid ends' };
  }
  return { ceiling: state, ceilingNote: doubt ? `not to be believed: ${doubt}` : '' };
}

/** The chamber that the strokes empty and that is fed: the trigger's, else the first chamber of a stack that has a feed. */
function fedChamber({ rig, stroke }: StrokeContext): number | null {
  const heads = rig.stacks.map((stack) => stack.members[0]!.index);
  const fed = heads.filter((head) => rig.lines.some((l) => l.kind === 'feed' && l.chamber === head));
  const own = rig.sensors[stroke.sensor]?.chamber;
  return fed.find((head) => head === own) ?? fed[0] ?? null;
}

function netFeed(model: FlowModel, chamber: number): number {
  return model.lines.reduce((sum, line) => sum + (line.chamber === chamber ? line.sign * line.rate : 0), 0);
}

function keepUpOf(context: StrokeContext): KeepUp | null {
  const { rig, model, program, trigger, interval } = context;
  const chamber = fedChamber(context);
  if (chamber === null || interval === null) return null;
  const feed = netFeed(model, chamber);
  if (!(feed > 0)) return null;
  const { limit } = rig.chambers[chamber]!;
  const vessel = model.vessels[chamber]!;
  const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
  const mass = most ?? trigger[chamber]!;
  const taken = -strokeFrom(model, program, withMass(trigger, chamber, mass)).gains[chamber]!;
  const settles = balanceMass(model, program, trigger, chamber, feed * interval);
  const capacity = taken / interval;
  return {
    chamber,
    feed,
    capacity,
    at: most !== null ? 'limit' : mass === model.start[chamber] ? 'start' : 'threshold',
    keeps: capacity >= feed * (1 - 1e-9),
    longestInterval: taken / feed,
    settlesAt: settles === null ? null : stateAt(model, chamber, settles),
  };
}

const LONGER = [1.25, 1.5, 2, 3];

function energyOf(context: StrokeContext, work: number, moved: number): EnergyFacts {
  const { rig, model, pattern, interval } = context;
  const powers = doorPowers(rig);
  const doors = doorEnergy(pattern, powers);
  const strokes = Math.max(1, pattern.strokes);
  const pumps = model.lines.reduce((sum, line, k) => sum + line.power * lineSeconds(pattern, k), 0) / strokes;
  const split = {
    doorsMoving: doors.moving / strokes,
    doorsHolding: doors.holding / strokes,
    compression: work,
    compressionAtLimit: workAtLimit(context),
    pumps,
    total: doors.moving / strokes + doors.holding / strokes + Math.max(0, work) + pumps,
  };
  const day = interval === null ? null : 86_400 / interval;
  return {
    perStroke: split,
    perKg: moved > 0 ? split.total / moved : null,
    perDay: day === null ? null : split.total * day,
    peakPower: peakDoorPower(pattern, powers) + model.lines.reduce((sum, line) => sum + line.power, 0),
    longer: interval === null ? [] : LONGER.map((factor) => longerInterval(context, interval * factor, split)),
  };
}

function workAtLimit({ rig, model, program, trigger }: StrokeContext): number | null {
  if (!rig.stacks.some((stack) => rig.chambers[stack.members[stack.members.length - 1]!.index]?.limit)) return null;
  const masses = trigger.map((m, k) => {
    const limit = rig.chambers[k]!.limit;
    const isEnd = rig.stacks.some((stack) => stack.members[stack.members.length - 1]!.index === k);
    const vessel = model.vessels[k]!;
    return (
      (limit && isEnd ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null) ?? m
    );
  });
  return strokeFrom(model, program, masses).work;
}

const lineSeconds = (pattern: StrokePattern, line: number): number =>
  (pattern.lines[line] ?? []).reduce((sum, [from, to]) => sum + (to - from), 0) / 1e6;

function longerInterval(
  context: StrokeContext,
  interval: number,
  split: { readonly doorsMoving: number; readonly doorsHolding: number },
): LongerInterval {
  const { model, program, trigger } = context;
  const chamber = fedChamber(context);
  const feed = chamber === null ? 0 : netFeed(model, chamber);
  const settles =
    chamber === null || !(feed > 0) ? null : balanceMass(model, program, trigger, chamber, feed * interval);
  // Below the trigger's threshold the rig waits for it.
  const peak = chamber === null || settles === null ? null : Math.max(settles, trigger[chamber]!);
  return {
    interval,
    doorsPerDay: ((split.doorsMoving + split.doorsHolding) * 86_400) / interval,
    peak: peak === null ? null : stateAt(model, chamber!, peak),
  };
}

/** Strokes with nothing coming in, from the threshold: where the sensor stops the rig and what is left upstream. */
function emptyingOf(run: FlowRun, start: readonly number[] | null): Filling | null {
  if (!start) return null;
  // A hair beyond the threshold, so that the sensor is on.
  return run.fill({ start: start.map((m) => m * (1 + 1e-9)), linesOff: true, strokes: 2_000 });
}

function doubtsOf(rig: Rig, model: FlowModel, strokes: readonly StrokeFlow[]): string[] {
  const doubts = new Set<string>();
  for (const { stacks } of strokes) {
    for (const { to, ceiling, ceilingNote } of stacks) {
      if (ceiling && ceilingNote) doubts.add(`The ceiling of \`${rig.chambers[to]!.name}\` is ${ceilingNote}.`);
    }
  }
  rig.chambers.forEach(({ limit, name }, k) => {
    const vessel = model.vessels[k]!;
    const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
    const doubt = most === null ? null : doubtAt(model, k, stateAt(model, k, most));
    if (doubt) doubts.add(`At the limit of \`${name}\` ${doubt}.`);
  });
  return [...doubts];
}

function detailNote(rig: Rig, model: FlowModel): string {
  if (model.law.phase === 'packed') return 'a packed medium does not flow';
  if (model.network.measured.length > 0) return 'strokes of a stack with `moves` are measured, not worked out';
  const areas = effectiveAreas(rig.doors);
  return typeof areas === 'string' ? areas : '';
}

/** Filling times that a door must stand fully open for a short fill to be out of the question. */
const PLENTY = 6;

/**
 * A cheap answer before the dear one: whether each door of a gas rig stands fully open long enough to fill all pockets of its stack
 * several times over. Choked flow fills a volume V through an effective area A in about V/(A √(R T)), sub-critical flow in twice that.
 */
export function fillsWithoutDoubt(rig: Rig, stroke: StrokeFacts): boolean {
  const { model } = modelFlow(rig);
  const areas = effectiveAreas(rig.doors);
  if (!model || model.law.phase !== 'gas' || typeof areas === 'string') return false;
  const speed = Math.sqrt(model.law.gasConstant * model.law.temperature);
  const volume = model.network.open.reduce((sum, v) => sum + v, 0);
  return stroke.doors.every(({ door, windows }) =>
    windows.every(({ fullyOpen }) => {
      const open = fullyOpen ? (fullyOpen.to ?? Infinity) - fullyOpen.from : 0;
      return open / 1e6 > (PLENTY * volume) / (areas[door]! * speed);
    }),
  );
}

const SHORT = 0.99;
/** Strokes at the orifice level before the one that is looked at. */
const SETTLING = 1;

function detailOf(rig: Rig, model: FlowModel, stroke: StrokeFacts): DetailFacts | null {
  const { law } = model;
  const areas = effectiveAreas(rig.doors);
  if (law.phase === 'packed' || typeof areas === 'string' || model.network.measured.length > 0) return null;
  if (stroke.trace.stopped) return null;
  const pattern = strokePattern(rig, stroke);
  const program = compileStroke(model.network, pattern);
  const masses = triggerMasses(rig, model, stroke);
  const still = { ...model, lines: [], start: masses };
  const balance = new Balance(still, startContents(still, program.startVolumes));
  const fine =
    law.phase === 'gas'
      ? gasStroke(new Orifice({ ...still, law, areas }, startContents(still, program.startVolumes)), pattern)
      : liquidStroke(new LiquidOrifice({ ...still, law, areas }, startContents(still, program.startVolumes)), pattern);
  const put = (mass: Float64Array): void => masses.forEach((m, k) => (mass[k] = m));
  for (let k = 0; k < SETTLING; k++) {
    if (!fine.run()) return null;
    balance.stroke(program);
    put(fine.mass);
    put(balance.contents.mass);
  }
  const cutOffs = fine.run();
  if (!cutOffs) return null;
  balance.stroke(program);
  return {
    stacks: rig.stacks.map((stack, index) => {
      const to = stack.members[stack.members.length - 1]!.index;
      const moved = (mass: Float64Array): number => (mass[to]! - masses[to]!) / Math.max(1, pattern.strokes);
      return { stack: index, moved: moved(fine.mass), balance: moved(balance.contents.mass) };
    }),
    shortFills: cutOffs.filter((cut) => cut.fill < SHORT),
  };
}

interface FineStroke {
  readonly mass: Float64Array;
  /** One stroke; what its doors cut off, or null where it could not be followed. */
  readonly run: () => readonly CutOff[] | null;
}

function gasStroke(orifice: Orifice, pattern: StrokePattern): FineStroke {
  const run = (): readonly CutOff[] | null => {
    const { complete, cutOffs } = orifice.stroke(pattern);
    return complete ? cutOffs : null;
  };
  return { mass: orifice.contents.mass, run };
}

function liquidStroke(liquid: LiquidOrifice, pattern: StrokePattern): FineStroke {
  const run = (): readonly CutOff[] | null => (liquid.stroke(pattern) ? liquidFills(liquid.model, pattern) : null);
  return { mass: liquid.contents.mass, run };
}
