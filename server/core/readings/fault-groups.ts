/** Which faults give the same answers in a log: candidates whose logged doors do the same and whose differences no chamber that was read feels. */
import { cellNetwork, type CellNetwork } from '../flow/cells';
import type { Rig } from '../model/rig';
import type { Work } from '../work/work';
import type { Alignment, MeasuredLog } from './align';
import { type DoorColumn, hasTwoStates } from './log';
import type { Followed } from './stimulus';
import { expectedOf, standsAt, type MeasuredTrack } from './tracks';

export interface Candidate {
  readonly mode: string;
  readonly rig: Rig;
  readonly trace: Followed;
  readonly prior: number;
}

/** Candidates laid beside a log. */
export interface Scored {
  readonly group: readonly Candidate[];
  readonly laid: Alignment;
  /** Of edges and readings, without the prior; then with it. */
  readonly fits: number;
  readonly cost: number;
}

/** Candidates that look the same in the columns that the log has; what chambers hold shows lines and doors without a column, too. In steps. */
export function* grouped(
  rig: Rig,
  candidates: readonly Candidate[],
  { log, tracks }: MeasuredLog,
): Work<Candidate[][]> {
  const network = cellNetwork(rig);
  const unseen = new Set(
    rig.doors.map((_, d) => d).filter((d) => !tracks.some((t) => t.of === 'door' && t.index === d)),
  );
  const opened = tracks.flatMap((t) =>
    t.of === 'door' && (t.edges.length > 0 || (t.level ?? 0) > 0.5) ? [t.index] : [],
  );
  const read = log.readings.map((r) => r.chamber);
  const inside = ({ rig: of, trace }: Candidate): unknown[] => {
    const moved = trace.doors.flatMap(({ initial, moves }, d) =>
      unseen.has(d) && (initial > 0 || moves.length > 0) ? [d] : [],
    );
    const felt = inTouch(network, of, read, new Set([...opened, ...moved]));
    return [
      of.lines.map((l, k) => felt.chambers.has(l.chamber) && [rateOf(l), trace.lines[k]]),
      of.doors.map((door, d) => felt.doors.has(d) && [leakOf(door), unseen.has(d) && movesOf(trace, d)]),
    ];
  };
  const groups = new Map<string, Candidate[]>();
  for (const c of candidates) {
    const key = JSON.stringify([
      tracks.map((t) => [
        standsAt(t, c.trace, c.trace.start),
        expectedOf(t, c.trace).map((e) => [e.t, e.open]),
        t.of === 'door' ? movesOf(c.trace, t.index) : [],
      ]),
      read.length > 0 ? inside(c) : [],
    ]);
    const group = groups.get(key);
    if (group) group.push(c);
    else groups.set(key, [c]);
    yield;
  }
  return [...groups.values()];
}

const movesOf = (trace: Followed, d: number): unknown[] => trace.doors[d]!.moves.map((m) => [m.t, m.to, m.arrives]);
const rateOf = ({ rate, curve }: Rig['lines'][number]): unknown[] => [
  rate?.value.nominal,
  curve?.points.map((p) => p.flow.nominal),
];
const leakOf = ({ leak }: Rig['doors'][number]): unknown => leak && [leak.kind, leak.value.nominal];

/**
 * Chambers and doors that what is read can feel: joined to a chamber that was read by doors that are open at some time or leak. A chamber
 * without end passes nothing on. `opened`: doors that open at some time.
 */
function inTouch(
  { links, measured }: CellNetwork,
  rig: Rig,
  read: readonly number[],
  opened: ReadonlySet<number>,
): { readonly chambers: ReadonlySet<number>; readonly doors: ReadonlySet<number> } {
  const passes = (d: number): boolean => opened.has(d) || rig.doors[d]!.leak !== null;
  const joints = [
    ...links.filter((l) => l.gates.every(passes)).map(({ a, b, gates }) => ({ a, b, doors: gates })),
    ...measured.map(({ from, to, doors }) => ({ a: from, b: to, doors })),
  ];
  const cells = new Set(read);
  const ends = (cell: number): boolean => rig.chambers[cell]?.endless === true;
  const doors = new Set<number>();
  for (let before = -1; before < cells.size + doors.size;) {
    before = cells.size + doors.size;
    for (const joint of joints) {
      const isFelt = [joint.a, joint.b].some((cell) => cells.has(cell) && !ends(cell));
      if (!isFelt) continue;
      joint.doors.forEach((d) => doors.add(d));
      cells.add(joint.a).add(joint.b);
    }
  }
  return { chambers: cells, doors };
}

/** Costs this much apart (odds of twenty) tell two candidates apart by themselves. */
const TELLING = 3;
/** Moments of positions that are nearer than this no log of a moving door tells apart; of states, those within one step. µs; own choice. */
const SHOWN_BY_POSITIONS = 5_000;

/** Candidates that differ only outside the time of the log, or by less than its columns can show, are one; the likeliest comes first. */
export function merged(
  scored: readonly Scored[],
  measured: MeasuredLog,
): (Scored & { readonly costs: readonly number[] })[] {
  const found: (Scored & { readonly costs: readonly number[] })[] = [];
  for (const s of scored) {
    const k = found.findIndex((f) => Math.abs(f.fits - s.fits) < 1e-9 || looksAlike(f, s, measured));
    const like = found[k];
    if (like) found[k] = { ...like, group: [...like.group, ...s.group], costs: [...like.costs, s.cost] };
    else found.push({ ...s, costs: [s.cost] });
  }
  return found;
}

/** Whether two faults do the same in every column, to what the column can show. The rig as designed is like none. */
function looksAlike(a: Scored, b: Scored, { log, tracks }: MeasuredLog): boolean {
  if (Math.abs(a.fits - b.fits) > TELLING || [a, b].some(isDesigned)) return false;
  const [one, other] = [a.group[0]!.trace, b.group[0]!.trace];
  return tracks.every((track) => {
    const column = track.of === 'door' ? log.doors.find((d) => d.door === track.index) : undefined;
    const limit = column && !column.isStates ? SHOWN_BY_POSITIONS : log.step;
    const [at, beside] = [one, other].map((trace) => momentsOf(track, trace, column));
    return at!.length === beside!.length && at!.every((t, k) => Math.abs(t - beside![k]!) < limit);
  });
}

const isDesigned = ({ group }: Scored): boolean => group.some((c) => c.prior === 0);

/** What a column shows of a trace: edges, signed by their direction; of a door that shows its way also when it begins and ends to move. */
function momentsOf(track: MeasuredTrack, trace: Followed, column: DoorColumn | undefined): number[] {
  if (column && !hasTwoStates(column))
    return trace.doors[track.index]!.moves.flatMap((m) => [m.t, m.arrives, 1e12 * m.to]);
  return expectedOf(track, trace).flatMap((e) => [e.t, e.open ? 1e12 : 0]);
}
