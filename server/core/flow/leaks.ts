/**
 * What passes doors that are shut. Doors shut one behind the other, with no chamber between them, leak as one opening in a row,
 * 1/A² = Σ 1/A² (common practice for resistances in series; exact for a liquid, and for a gas as long as the pressures differ little);
 * a tight one among them stops it. What is in their clearances stays where it is. A door that is off its seat leaks nothing: what passes
 * it passes its opening.
 */
import type { Rig } from '../model/rig';
import type { CellNetwork } from './cells';
import type { Law } from './media/law';
import type { GasNozzle } from './nozzle';
import { heatRatioOf, leakLaw, type OpeningLaw } from './opening-laws';

/** Laws and places of all leaks of a rig: which of them flow depends on the doors that are shut (`leaksNow`). */
export interface Leaks {
  /** Per door; null where it is tight. */
  readonly laws: readonly (OpeningLaw | null)[];
  /** Each stack. */
  readonly rows: readonly LeakRow[];
}

interface LeakRow {
  /** In order. */
  readonly cells: readonly number[];
  /**
   * What its strokes move is stated: pockets do not count there, so that past an open door the leak goes on to the next one that is shut.
   * With all doors between two chambers open nothing leaks: what passes then is what the stroke moves.
   */
  readonly isMeasured: boolean;
}

/** An opening between two cells that shut doors part. */
export interface Leak {
  readonly a: number;
  readonly b: number;
  /** Effective, m2. */
  readonly area: number;
  readonly nozzle: GasNozzle;
}

/** The leaks of a rig; nothing where every door of a stack is tight. A packed medium is followed past none (`leakProblems`). */
export function leaksOf(rig: Rig, law: Law): { leaks?: Leaks } {
  if (law.phase === 'packed') return {};
  const laws = rig.doors.map((door) => leakLaw(door, heatRatioOf(law)));
  if (!rig.stacks.some(({ members }) => members.some((m) => m.kind === 'door' && laws[m.index]))) return {};
  const cell = (m: { readonly kind: 'chamber' | 'door'; readonly index: number }): number =>
    m.kind === 'chamber' ? m.index : rig.chambers.length + m.index;
  const rows = rig.stacks.map(({ members, moves }) => ({ cells: members.map(cell), isMeasured: moves !== null }));
  return { leaks: { laws, rows } };
}

/**
 * The leaks while these doors are off their seats. `labels`: cells that open doors join; a pocket that is joined to no chamber is
 * squeezed with nowhere to go, and counts as tight.
 */
export function leaksNow(
  { laws, rows }: Leaks,
  network: CellNetwork,
  notShut: readonly boolean[],
  labels: Int32Array,
): Leak[] {
  const { chambers } = network;
  // Labels of groups that hold a chamber: only such a group can take up or give what leaks.
  const isReached = new Set(Array.from({ length: chambers }, (_, chamber) => labels[chamber]!));
  const found: Leak[] = [];
  for (const { cells, isMeasured } of rows) {
    let from = -1;
    let shut: number[] = [];
    for (const cell of cells) {
      const door = cell - chambers;
      if (door >= 0 && !notShut[door]) shut.push(door);
      if (door >= 0 && (isMeasured || !notShut[door])) continue;
      const leak = from < 0 ? null : inSeries(shut.map((d) => laws[d]!));
      const isOpen = isReached.has(labels[from] ?? -1) && isReached.has(labels[cell]!);
      if (leak && isOpen && labels[from] !== labels[cell]) found.push({ a: from, b: cell, ...leak });
      from = cell;
      shut = [];
    }
  }
  return found;
}

/** Openings one behind the other as one, by the law of the narrowest; null where there is none, or one is tight. */
function inSeries(laws: readonly (OpeningLaw | null)[]): OpeningLaw | null {
  let narrowest: OpeningLaw | null = null;
  let resistance = 0;
  for (const law of laws) {
    if (!law) return null;
    resistance += 1 / (law.area * law.area);
    if (!narrowest || law.area < narrowest.area) narrowest = law;
  }
  return narrowest && { area: 1 / Math.sqrt(resistance), nozzle: narrowest.nozzle };
}
