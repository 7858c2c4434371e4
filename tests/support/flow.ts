/** Small builders for flow tests: media, a stack of doors between two chambers, patterns of instant or travelling doors. */
import type { FlowModel } from '../../server/core/flow/rig-model';
import type { CellNetwork, Link } from '../../server/core/flow/cells';
import type { LineFlow } from '../../server/core/flow/lines';
import { idealGas } from '../../server/core/flow/media/ideal-gas';
import type { Law } from '../../server/core/flow/media/law';
import type { DoorMotion, DoorPath, StrokePattern } from '../../server/core/flow/pattern';
import { runStroke } from '../../server/core/flow/engine';
import { compileStroke } from '../../server/core/flow/program';
import type { FlowEngine } from '../../server/core/flow/rig-model';
import type { Vessel } from '../../server/core/flow/vessel';
import type { StrokeWatch } from '../../server/core/flow/watch';

export const kPa = 1e3;
export const litre = 1e-3;

/** Air with R = 287.05 J/(kg K) and γ = 1.4. */
export const air = (exponent = 1, temperature = 293.15): Law & { phase: 'gas' } =>
  idealGas({
    name: 'air',
    title: '',
    gasConstant: 287.05,
    heatRatio: 1.4,
    temperature,
    exponent,
    error: () => null,
  });

export interface DoorSpec {
  readonly open: number;
  readonly shut?: number;
}

export const vessel = (volume: number, temperature: number, extra: Partial<Vessel> = {}): Vessel => ({
  name: 'chamber',
  volume,
  temperature,
  surface: 101_325,
  floorArea: Math.cbrt(volume) ** 2,
  elevation: 0,
  ...extra,
});

/** `chamber 0 > door 0 > door 1 > … > chamber 1`. */
export function lineNetwork(volumes: readonly [number, number], doors: readonly DoorSpec[]): CellNetwork {
  const cells = [0, ...doors.map((_, k) => 2 + k), 1];
  const links: Link[] = [];
  for (let k = 1; k < cells.length; k++) {
    const [a, b] = [cells[k - 1], cells[k]];
    const gates = [a, b].filter((c) => c >= 2).map((c) => c - 2);
    links.push({ a, b, gates, orifice: b >= 2 ? b - 2 : -1 });
  }
  return {
    chambers: 2,
    doors: doors.length,
    volume: Float64Array.from(volumes),
    open: Float64Array.from(doors, (d) => d.open),
    shut: Float64Array.from(doors, (d) => d.shut ?? 0),
    links,
    measured: [],
  };
}

/** Model of such a line with an ideal gas at two pressures. */
export function gasLine(
  law: Law & { phase: 'gas' },
  volumes: readonly [number, number],
  pressures: readonly [number, number],
  doors: readonly DoorSpec[],
  lines: readonly LineFlow[] = [],
): FlowModel {
  return {
    law,
    network: lineNetwork(volumes, doors),
    vessels: volumes.map((v) => vessel(v, law.temperature)),
    lines,
    start: volumes.map((v, k) => law.density(pressures[k], law.temperature) * v),
  };
}

/** Doors given as positions over equal steps of one second: `['101', '100', …]`, 0 = open, 1 = shut, moving at once. */
export function stepPattern(steps: readonly string[], openDigit = '0'): StrokePattern {
  const doors = Array.from({ length: steps[0].length }, (_, door): DoorPath => {
    const at = (k: number): 0 | 1 => (steps[k][door] === openDigit ? 1 : 0);
    const initial = at(steps.length - 1);
    const moves: DoorMotion[] = [];
    let now: number = initial;
    steps.forEach((_step, k) => {
      if (at(k) !== now) moves.push({ t: k * 1e6, from: now, to: at(k), arrives: k * 1e6 });
      now = at(k);
    });
    return { initial, moves };
  });
  return { doors, duration: steps.length * 1e6, strokes: 1, repeats: true, lines: [] };
}

/** Doors as windows `[leaves shut, starts to close]` in ms with one travel time in ms. */
export function windowPattern(
  windows: readonly (readonly [number, number])[],
  travel: number,
  duration: number,
): StrokePattern {
  const doors = windows.map(([from, to]): DoorPath => ({
    initial: 0,
    moves: [
      { t: from * 1000, from: 0, to: 1, arrives: (from + travel) * 1000 },
      { t: to * 1000, from: 1, to: 0, arrives: (to + travel) * 1000 },
    ],
  }));
  return { doors, duration: duration * 1000, strokes: 1, repeats: true, lines: [] };
}

/** Runs a pattern on an engine; false where it could not be followed. */
export const strokeOn = (engine: FlowEngine, pattern: StrokePattern, watch: StrokeWatch = {}): boolean =>
  runStroke(engine, compileStroke(engine.model.network, pattern), watch);

/** Pressure of a gas in a cell of an engine, Pa. */
export function gasPressure({ model, contents }: FlowEngine, cell: number, volume: number): number {
  const { law } = model;
  return law.phase === 'gas' ? law.pressure(contents.mass[cell] / volume, contents.temperature[cell]) : NaN;
}
