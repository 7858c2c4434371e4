/** The forward model of readings: a rig with figures put in, run along movements of its doors, read where and when the log was. */
import { engineOf, startContents, strokeWork } from '../flow/engine';
import { modelFlow } from '../flow/flow-model';
import type { StrokePattern } from '../flow/pattern';
import { compileStroke, type Program } from '../flow/program';
import type { Contents } from '../flow/contents';
import type { FlowEngine, FlowModel } from '../flow/rig-model';
import { massAt, reading } from '../flow/vessel';
import { pieceOf } from '../model/motion';
import type { Quantity, Rig } from '../model/rig';
import { finish, type Work } from '../work/work';
import type { Parameter } from './least-squares';
import type { SampledColumn } from './samples';

/** A quantity of the rig that is fitted. */
export type FlowTarget =
  | { readonly property: 'discharge' | 'leak'; readonly doors: readonly number[] }
  | { readonly property: 'moves'; readonly stack: number };

/** What is not known before the fit: a figure asked for, or (`target` null) what a chamber held at the first moment. */
export interface Unknown {
  readonly parameter: Parameter;
  readonly put: (rig: Rig, value: number) => Rig;
  readonly target: FlowTarget | null;
}

/** A value without tolerance. */
export const exact = (nominal: number, like: Quantity | null, rig: Rig): Quantity => ({
  nominal,
  min: nominal,
  max: nominal,
  at: like?.at ?? rig.at,
});

/** Contents at the first moment, of every chamber that was read. */
export function startUnknowns(model: FlowModel, rig: Rig, columns: readonly SampledColumn[]): Unknown[] {
  const chambers = [...new Set(columns.map((c) => c.column.chamber))].filter((k) => !rig.chambers[k]!.endless);
  return chambers.flatMap((chamber): Unknown[] => {
    const own = columns.filter((c) => c.column.chamber === chamber);
    const column = own.find((c) => c.column.sensed === 'mass') ?? own[0]!;
    const vessel = model.vessels[chamber]!;
    const toMass = (v: number): number | null => massAt(model.law, vessel, column.column.sensed, v, vessel.temperature);
    const first = column.samples[0];
    const start = first ? toMass(first.value) : null;
    if (start === null) return [];
    const largest = Math.max(...column.samples.map((s) => Math.abs(toMass(s.value) ?? 0)), Math.abs(start), 1e-9);
    return [
      {
        target: null,
        // A load cell may be off by a little, so contents may seem to begin below zero.
        parameter: { start, low: -0.2 * largest, high: 20 * largest, step: 1e-4 * largest },
        put: (r, value) => ({
          ...r,
          chambers: r.chambers.map((c, k) => (k === chamber ? { ...c, mass: exact(value, c.mass, r) } : c)),
        }),
      },
    ];
  });
}

// ---------------------------------------------------------------- forward

/** Runs the rig along the pattern and reads the chambers at the moments of the samples (their mean where there are two); one array a column. */
export function simulator(...asked: Parameters<typeof simulatorWork>): (values: readonly number[]) => Float64Array[] {
  const run = simulatorWork(...asked);
  return (values) => finish(run(values));
}

interface Simulating {
  /** Programs of the pieces between moments, kept for all that move alike in rigs of the same cells. */
  readonly compiled?: Map<string, Program>;
  /** Called with the number of cells for each piece that is run. */
  readonly spend?: (cells: number) => void;
  /** How closely flow through openings is integrated, as part of what a cell holds. */
  readonly relative?: number;
}

/** The same in steps. */
export function simulatorWork(
  rig: Rig,
  model: FlowModel,
  pattern: StrokePattern,
  columns: readonly SampledColumn[],
  unknowns: readonly Unknown[],
  { compiled = new Map<string, Program>(), spend = (_: number): void => undefined, ...options }: Simulating = {},
): (values: readonly number[]) => Work<Float64Array[]> {
  const times = [...new Set(columns.flatMap((c) => c.samples.flatMap((s) => s.moments)))].sort((a, b) => a - b);
  const { network } = model;
  const programs: Program[] = [];
  const programOf = (from: number, to: number): Program => {
    const key = `${from} ${to}`;
    const known = compiled.get(key) ?? compileStroke(network, patternPiece(pattern, from, to));
    compiled.set(key, known);
    return known;
  };
  const startVolumes = compileStroke(network, { ...pattern, duration: 0 }).startVolumes;
  const placeOf = new Map(times.map((t, k) => [t, k]));
  const places = columns.map((c) => c.samples.map((s) => s.moments.map((t) => placeOf.get(t)!)));
  let last: { readonly figures: string; readonly engine: FlowEngine } | null = null;
  return function* (values) {
    const tried = modelFlow(unknowns.reduce((r, u, k) => u.put(r, values[k]!), rig)).model ?? model;
    const contents = startContents(tried, startVolumes);
    // An engine prepares its equations of each piece once. Walls keep what they had at the start: another start is another engine.
    const figures = values.filter((_, k) => unknowns[k]!.target !== null || tried.walls).join(' ');
    if (last?.figures === figures) startAnew(last.engine, contents);
    else last = { figures, engine: engineOf(tried, contents, options) };
    const { engine } = last;
    const seen = columns.map(() => new Float64Array(times.length));
    for (const [k, t] of times.entries()) {
      yield* strokeWork(engine, (programs[k] ??= programOf(times[k - 1] ?? 0, t)), {});
      spend(network.chambers + network.doors);
      const { mass, temperature } = engine.contents;
      columns.forEach(({ column: { chamber, sensed } }, c) => {
        seen[c]![k] = reading(tried.law, tried.vessels[chamber]!, sensed, mass[chamber]!, temperature[chamber]!) ?? 0;
      });
    }
    return columns.map((_, c) =>
      Float64Array.from(places[c]!, (own) => own.reduce((sum, k) => sum + seen[c]![k]!, 0) / own.length),
    );
  };
}

function startAnew({ contents }: FlowEngine, { mass, temperature }: Contents): void {
  contents.mass.set(mass);
  contents.temperature.set(temperature);
}

/** The part of a pattern from `from` to `to`, counted from `from`. */
function patternPiece(pattern: StrokePattern, from: number, to: number): StrokePattern {
  const lines = pattern.lines.map((on) =>
    on.map(([a, b]) => [Math.max(0, a - from), Math.min(b, to) - from] as const).filter(([a, b]) => b > a),
  );
  return { ...pattern, doors: pattern.doors.map((path) => pieceOf(path, from, to)), duration: to - from, lines };
}
