/**
 * What passes doors that are shut. Doors shut one behind the other, with no chamber between them, leak as one opening in a row,
 * 1/A² = Σ 1/A² (common practice for resistances in series; exact for a liquid, and for a gas as long as the pressures differ little);
 * a tight one among them stops it. The gas in their clearances stays where it is. A door that is off its seat leaks nothing: what passes
 * it passes its opening.
 */
import type { Rig } from '../model/rig';
import type { CellNetwork } from './cells';
import type { Law } from './media/law';
import type { GasNozzle } from './nozzle';
import { leakLaw, type OpeningLaw } from './opening-laws';

/** Laws and places of all leaks of a rig: which of them flow depends on the doors that are shut (`leaksNow`). */
export interface Leaks {
  /** Per door; null where it is tight. */
  readonly laws: readonly (OpeningLaw | null)[];
  /** Cells of each stack in order. */
  readonly rows: readonly (readonly number[])[];
}

/** An opening between two cells that shut doors part. */
export interface Leak {
  readonly a: number;
  readonly b: number;
  /** Effective, m2. */
  readonly area: number;
  readonly nozzle: GasNozzle;
}

/** The leaks of a rig whose medium is a gas; nothing where every door of a stack that is not measured is tight. */
export function leaksOf(rig: Rig, law: Law): { leaks?: Leaks } {
  if (law.phase !== 'gas') return {};
  const laws = rig.doors.map((door) => leakLaw(door, law.heatRatio));
  const stacks = rig.stacks.filter((stack) => !stack.moves);
  if (!stacks.some(({ members }) => members.some((m) => m.kind === 'door' && laws[m.index]))) return {};
  const cell = (m: { readonly kind: 'chamber' | 'door'; readonly index: number }): number =>
    m.kind === 'chamber' ? m.index : rig.chambers.length + m.index;
  return { leaks: { laws, rows: stacks.map(({ members }) => members.map(cell)) } };
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
  for (const row of rows) {
    let from = -1;
    let shut: number[] = [];
    for (const cell of row) {
      const door = cell - chambers;
      if (door >= 0 && !notShut[door]) {
        shut.push(door);
        continue;
      }
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
