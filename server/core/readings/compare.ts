/** Measured against expected, edge by edge: within tolerance or not, the first deviation and what lies on its chain of causes. */
import type { Rig, TimeValue } from '../model/rig';
import { causesOfMove } from '../timing/causes';
import type { CauseLink } from '../timing/facts';
import { align, measuredLog } from './align';
import type { RigLog } from './log';
import { follow, type Stimulus } from './stimulus';

export interface ComparedEdge {
  readonly door: string;
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
  /** Time of the log when the trigger comes, µs. */
  readonly offset: number;
  /** In order of time. */
  readonly edges: readonly ComparedEdge[];
  /** The first one that is not within tolerance. */
  readonly first: ComparedEdge | null;
}

/** Half of the passage is compared: a door's edge is when it passes half of its opening. */
export function compareLog(rig: Rig, log: RigLog, stimulus: Stimulus): Comparison {
  const measured = measuredLog(log);
  const trace = follow(rig, rig, stimulus, Math.max(stimulus.length, log.times.at(-1)! - log.times[0]!));
  const { offset, pairs } = align(measured, trace, true);
  const edges = pairs.map(({ door, measured: m, expected: e }): ComparedEdge => {
    const move = e ? trace.doors[door]!.moves[e.move]! : null;
    const chain = move ? causesOfMove(rig, trace, door, move) : [];
    const room = roomOf(rig, chain, move?.to === 1);
    const known = m ? Math.max(m.within, measured.sigma) : 0;
    const [early, late] = [room.early + known, room.late + known];
    const off = m && e ? m.t - offset - e.t : null;
    return {
      door: rig.doors[door]!.name,
      open: (m ?? e)!.open,
      expected: e?.t ?? null,
      measured: m ? m.t - offset : null,
      early,
      late,
      within: off !== null && off >= -early && off <= late,
      chain,
    };
  });
  edges.sort((a, b) => (a.expected ?? a.measured!) - (b.expected ?? b.measured!));
  return { offset, edges, first: edges.find((e) => !e.within) ?? null };
}

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
