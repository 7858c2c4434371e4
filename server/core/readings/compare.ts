/** Measured against expected, edge by edge: within tolerance or not, the first deviation and what is on its chain of causes. */
import type { Rig, TimeValue } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { causesOfEdge, causesOfMove } from '../timing/causes';
import type { CauseLink } from '../timing/facts';
import { shiftedTrace, type Trace } from '../timing/trace';
import { formatTime } from '../units/units';
import { finish, type Work } from '../work/work';
import { alignWork, measuredLog, type EdgePair, type MeasuredLog } from './align';
import { compareReadings, type ComparedReading } from './compare-readings';
import { operatedLines } from './line-tracks';
import type { RigLog } from './log';
import { noiseOf } from './ramps';
import { follow, type Stimulus } from './stimulus';
import { say } from '../words/say';

export interface ComparedEdge {
  readonly of: 'door' | 'signal';
  /** Of the door, or of the net. */
  readonly index: number;
  readonly name: string;
  /** Open, or on. */
  readonly open: boolean;
  /** µs after the trigger; null where it is not due, or was not seen. */
  readonly expected: number | null;
  readonly measured: number | null;
  /** How much earlier and later the stated tolerances and the steps of the log let it be, µs. */
  readonly early: number;
  readonly late: number;
  readonly within: boolean;
  /** From the trigger to the edge; empty where it is not due. */
  readonly chain: readonly CauseLink[];
}

export interface Comparison {
  /** Time of the log when time zero of the rig (its trigger) is, µs. */
  readonly offset: number;
  /** The inputs act as they were logged; then time zero is the first moment of the log. */
  readonly driven: boolean;
  /** In order of time. */
  readonly edges: readonly ComparedEdge[];
  /** The first one that is not within tolerance. */
  readonly first: ComparedEdge | null;
  readonly readings: readonly ComparedReading[];
  /** Whether every edge and every column of readings is within. */
  readonly within: boolean;
  /** One sentence. */
  readonly summary: string;
  readonly notes: readonly string[];
}

/** Half of the passage is compared: a door's edge is when it passes half of its opening. */
export const compareLog = (...asked: Parameters<typeof compareWork>): Comparison => finish(compareWork(...asked));

/** The same in steps. */
export function* compareWork(facts: RigFacts, log: RigLog, stimulus: Stimulus): Work<Comparison> {
  const { rig } = facts;
  const measured = measuredLog(log, stimulus.given);
  const trace = follow(rig, rig, stimulus, Math.max(stimulus.length, log.times.at(-1)! - log.times[0]!));
  yield;
  const { offset, pairs } = yield* alignWork(measured, trace, true);
  const noise = new Map(log.doors.map((column) => [column.door, column.isStates ? 0 : noiseOf(column).end]));
  const unsure = new Set(log.doors.flatMap(({ door, lead }) => (lead?.unsure ? [door] : [])));
  const edges = pairs
    .map((pair) => comparedEdge(rig, trace, { ...measured, noise, unsure }, offset, pair))
    .filter((edge) => isJudged(edge, log, offset));
  edges.sort((a, b) => (a.expected ?? a.measured!) - (b.expected ?? b.measured!));
  const first = edges.find((e) => !e.within) ?? null;
  const room = {
    early: Math.max(measured.sigma, ...edges.map((e) => e.early)),
    late: Math.max(measured.sigma, ...edges.map((e) => e.late)),
  };
  yield;
  const { readings, notes } = yield* compareReadings(
    facts,
    log,
    shiftedTrace(trace, offset),
    room,
    operatedLines(stimulus.scenario, offset),
  );
  return {
    offset,
    driven: measured.offset !== null,
    edges,
    first,
    readings,
    within: first === null && readings.every((r) => r.within),
    summary: summaryOf(edges, first, readings, offset),
    notes,
  };
}

/** What is not seen near an end of the log may have come just outside it. */
function isJudged({ expected, measured, early, late }: ComparedEdge, { times }: RigLog, offset: number): boolean {
  if (measured !== null || expected === null) return true;
  return expected + offset - early > times[0]! && expected + offset + late < times.at(-1)!;
}

/** Deviations of its noise by which a reading may be off. */
const SURE = 3;

interface Measured extends MeasuredLog {
  /** Standard deviation of a position, 0 … 1, by door. */
  readonly noise: ReadonlyMap<number, number>;
  /** Doors whose columns may change anywhere on the way. */
  readonly unsure: ReadonlySet<number>;
}

function comparedEdge(rig: Rig, trace: Trace, measured: Measured, offset: number, pair: EdgePair): ComparedEdge {
  const { of, index, measured: m, expected: e } = pair;
  const chain = e ? chainOfEdge(rig, trace, pair) : [];
  const room = roomOf(rig, chain, e?.open === true);
  // An input that acts as it was logged is known to half a step, too.
  const driven = measured.offset === null ? 0 : measured.log.step / 2;
  // A door moves slowly through its half: noise of its position makes that moment uncertain.
  const door = of === 'door' ? rig.doors[index]! : null;
  const travel = door ? ((m ?? e)!.open ? door.opensIn : door.closesIn).nominal : 0;
  const noisy = door ? SURE * (measured.noise.get(index) ?? 0) * travel : 0;
  const anywhere = door && measured.unsure.has(index) ? travel / 2 : 0;
  const known = driven + Math.max(m?.within ?? 0, measured.sigma) + noisy + anywhere;
  const [early, late] = [room.early + known, room.late + known];
  const off = m && e ? m.t - offset - e.t : null;
  return {
    of,
    index,
    name: of === 'door' ? rig.doors[index]!.name : rig.network.nets[index]!.name,
    open: (m ?? e)!.open,
    expected: e?.t ?? null,
    measured: m ? m.t - offset : null,
    early,
    late,
    within: off !== null && off >= -early && off <= late,
    chain,
  };
}

function chainOfEdge(rig: Rig, trace: Trace, { of, index, expected }: EdgePair): readonly CauseLink[] {
  if (of === 'signal') return causesOfEdge(rig, trace, expected!.move);
  return causesOfMove(rig, trace, index, trace.doors[index]!.moves[expected!.move]!);
}

// ---------------------------------------------------------------- words

/** To the millisecond: readings show no more. */
export const clockText = (t: number): string => formatTime(Math.round(t / 1000) * 1000);

/** How far an edge is off: `120 ms late`. */
export function deviationText({ expected, measured }: Pick<ComparedEdge, 'expected' | 'measured'>): string {
  if (expected === null) return say`not expected`;
  if (measured === null) return say`not seen`;
  const off = measured - expected;
  return Math.abs(off) < 500
    ? say`on time`
    : off > 0
      ? say`${clockText(Math.abs(off))} late`
      : say`${clockText(Math.abs(off))} early`;
}

/** `upper opens`, `hold goes on`. */
export const edgeName = ({ of, name, open }: Pick<ComparedEdge, 'of' | 'name' | 'open'>): string =>
  of === 'door'
    ? open
      ? say`${name} opens`
      : say`${name} shuts`
    : open
      ? say`${name} goes on`
      : say`${name} goes off`;

function summaryOf(
  edges: readonly ComparedEdge[],
  first: ComparedEdge | null,
  readings: readonly ComparedReading[],
  offset: number,
): string {
  const wrong = edges.filter((e) => !e.within).length;
  const off = readings.filter((r) => !r.within);
  const [column] = [...off].sort((a, b) => a.first!.t - b.first!.t);
  const about = column ? say`\`${column.heading}\` is outside from ${clockText(column.first!.t - offset)} on` : '';
  if (first) {
    const due = first.expected === null ? '' : say`, due at ${clockText(first.expected)}`;
    const how =
      first.measured === null
        ? say`is not seen`
        : first.expected === null
          ? say`is seen at ${clockText(first.measured)} and not expected`
          : say`comes ${deviationText(first)}`;
    return say`${wrong} of ${edges.length} edges deviate: first ${edgeName(first)}${due}, ${how}${about ? `; ${about}` : ''}.`;
  }
  if (about) return say`All ${edges.length} edges are within tolerance, but ${about}.`;
  if (edges.length === 0) return say`The log has no edge to compare.`;
  const also = readings.length > 0 ? say` and all ${readings.length} columns of readings` : '';
  return say`All ${edges.length} edges${also} are within tolerance.`;
}

// ---------------------------------------------------------------- tolerances

/** Tolerances along the chain of causes, added up. */
function roomOf(rig: Rig, chain: readonly CauseLink[], opens: boolean): { early: number; late: number } {
  const times = chain.flatMap((link): TimeValue[] => {
    if (link.kind === 'door') return [opens ? rig.doors[link.index]!.opensIn : rig.doors[link.index]!.closesIn];
    const net = rig.network.nets[link.index];
    const element = net?.kind === 'element' ? rig.network.elements[net.index] : undefined;
    if (!element) return [];
    return [...(element.preset && link.preset > 0 ? [element.preset] : []), element.response];
  });
  const scan = rig.controller.style === 'scan' ? rig.controller.time.max : 0;
  return {
    early: times.reduce((sum, t) => sum + t.nominal - t.min, scan),
    late: times.reduce((sum, t) => sum + t.max - t.nominal, scan),
  };
}
