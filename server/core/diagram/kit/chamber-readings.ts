/** What is read off a chamber in pictures: its level or pressure or density, in the unit that people use. */
import type { FlowModel } from '../../flow/rig-model';
import { stateOf } from '../../flow/states';
import type { Rig } from '../../model/rig';

export type ReadingKind = 'pressure' | 'density' | 'level';

export interface ChamberReading {
  readonly kind: ReadingKind;
  readonly unit: string;
  /** In `unit`, of a content of `mass` kg at `temperature` K. */
  readonly of: (mass: number, temperature: number) => number;
  /** SI value per `unit`. */
  readonly size: number;
}

const KINDS: Record<ReadingKind, { unit: string; size: number }> = {
  pressure: { unit: 'bar', size: 1e5 },
  density: { unit: 'kg/m3', size: 1 },
  level: { unit: 'm', size: 1 },
};

/** Liquids in a chamber of known floor by their level, gases by their pressure, what has no pressure by its density. */
export function chamberReading(rig: Rig, model: FlowModel, k: number): ChamberReading {
  const at = (mass: number, temperature: number) => stateOf(model, k, mass, temperature);
  const first = at(model.start[k]!, model.vessels[k]!.temperature);
  const floor = rig.chambers[k]!.floorArea !== null && first.level !== null;
  const kind: ReadingKind = floor ? 'level' : first.pressure !== null ? 'pressure' : 'density';
  const { unit, size } = KINDS[kind];
  return { kind, unit, size, of: (mass, temperature) => (at(mass, temperature)[kind] ?? 0) / size };
}
