/** Seeded logs of doors and chambers of rigs with one fault or none: what is off in the control or flows wrong, by noise and missing columns. */
import { modelFlow } from '../../server/core/flow/flow-model';
import { reading } from '../../server/core/flow/vessel';
import { pieceOf, positionAt } from '../../server/core/model/motion';
import type { Rig, Sensed } from '../../server/core/model/rig';
import { withPlaces } from '../../server/core/readings/change-place';
import { asDesigned, diagnose } from '../../server/core/readings/diagnose';
import { flowFaults } from '../../server/core/readings/fault-flows';
import { controlFaults } from '../../server/core/readings/fault-list';
import { readLog } from '../../server/core/readings/log-csv';
import { follow, stimuliOf, stimulusOf, type Followed, type Stimulus } from '../../server/core/readings/stimulus';
import type { RigFacts } from '../../server/core/run/facts';
import { isShown, SHOWN, type DiagnosedCase } from './diagnosis-cases';
import { integer, pick, type Random } from './random';
import { contentsAlong, normal } from './synthetic-log';

const STEP = 100_000;
const BEFORE = 1_000_000;
/** Of the range of a column: a difference of this much (root mean square, apart from its mean) is shown, of so little is not. Own choice. */
const [CLEAR, NOTHING] = [0.15, 0.005];
/** Two faults whose readings differ by less than this part of the range look the same: the engine trusts no volume or rate further. */
const ALIKE = 0.03;

interface Gauge {
  readonly chamber: number;
  readonly sensed: Sensed;
  readonly unit: string;
  readonly factor: number;
}

/** A fault as it would be built; `null` rig: no supply. */
interface Built {
  readonly mode: string;
  readonly kind: DiagnosedCase['kind'];
  readonly rig: Rig | null;
}

/** One run of a rig: what its doors do and what its gauges read at the moments of the log. */
interface Run {
  readonly trace: Followed;
  readonly rows: readonly (readonly number[])[];
}

/** One gauge a chamber: of a gas the pressure, of a liquid the level, of a packed medium the mass. */
export function gaugesOf(rig: Rig): Gauge[] {
  const { model } = modelFlow(rig);
  if (!model) return [];
  const choice = { gas: ['pressure', 'bar', 1e5], liquid: ['level', 'm', 1], packed: ['mass', 'kg', 1] } as const;
  const [sensed, unit, factor] = choice[model.law.phase];
  return rig.chambers.flatMap(({ endless }, chamber) => {
    const vessel = model.vessels[chamber];
    const read = vessel && reading(model.law, vessel, sensed, model.start[chamber]!, vessel.temperature);
    return endless || read === null || read === undefined ? [] : [{ chamber, sensed, unit, factor }];
  });
}

function run(rig: Rig, built: Rig | null, stimulus: Stimulus, times: readonly number[], gauges: readonly Gauge[]): Run {
  const trace = follow(rig, built, stimulus, times.at(-1)!);
  const [from, to] = [times[0]!, times.at(-1)! + 1];
  const runs = trace.lines.map(({ initial, changes }) => {
    const kept: [number, number][] = [];
    let since = initial ? from : null;
    for (const { t, on } of changes) {
      if (on) since ??= Math.max(t, from);
      else if (since !== null) {
        if (t > since) kept.push([since - from, t - from]);
        since = null;
      }
    }
    if (since !== null) kept.push([since - from, to - from]);
    return kept;
  });
  const doors = trace.doors.map((path) => pieceOf(path, from, to));
  const at = times.map((t) => t - from);
  return { trace, rows: contentsAlong(built ?? rig, doors, at, gauges, runs) };
}

/** Greatest difference of two runs in any gauge, root mean square about its mean, as part of the range. */
function differenceOf(a: Run, b: Run, gauges: readonly Gauge[]): number {
  const shares = gauges.map((_, c) => {
    const [one, other] = [a, b].map(({ rows }) => rows.map((row) => row[c]!));
    const off = one!.map((v, k) => v - other![k]!);
    const mean = off.reduce((x, y) => x + y, 0) / off.length;
    const rms = Math.sqrt(off.reduce((sum, v) => sum + (v - mean) ** 2, 0) / off.length);
    const range = Math.max(...[one!, other!].map((v) => Math.max(...v) - Math.min(...v)));
    return range > 0 ? rms / range : 0;
  });
  return Math.max(0, ...shares);
}

function textOf(rig: Rig, { trace, rows }: Run, times: readonly number[], of: Columns, random: Random): string {
  const { doors, gauges, noise, clock } = of;
  const scale = gauges.map((_, c) => Math.max(...rows.map((row) => Math.abs(row[c]!))));
  const lines = times.map((t, k) => {
    const positions = doors.map((d) => (positionAt(trace.doors[d]!, t) + noise * normal(random)).toFixed(4));
    const read = gauges.map(({ factor }, c) =>
      ((rows[k]![c]! + noise * scale[c]! * normal(random)) / factor).toFixed(5),
    );
    return [((t + clock) / 1e6).toFixed(3), ...positions, ...read].join(',');
  });
  const heads = gauges.map((g) => `${rig.chambers[g.chamber]!.name} ${g.sensed} [${g.unit}]`);
  return [['time [s]', ...doors.map((d) => rig.doors[d]!.name), ...heads].join(','), ...lines].join('\n');
}

interface Columns {
  readonly doors: readonly number[];
  readonly gauges: readonly Gauge[];
  readonly noise: number;
  readonly clock: number;
}

/** One faulty log and one sound one of the same rig, stroke, columns and noise; null where it is neither clear that the fault shows nor that it does not. */
export function readPair(facts: RigFacts, random: Random): [DiagnosedCase, DiagnosedCase] | null {
  const { rig, timing } = facts;
  const stimulus = pick(
    random,
    stimuliOf(rig, timing).filter((s) => s.scenario === null),
  );
  const flows = flowFaults(rig);
  const fault: Built = pick(random, random() < 0.5 && flows.length > 0 ? flows : controlFaults(rig));
  const missing = rig.doors.length > 1 && random() < 0.3 ? integer(random, 0, rig.doors.length - 1) : -1;
  const doors = rig.doors.map((_, k) => k).filter((k) => k !== missing);
  const all = gaugesOf(rig);
  const without = all.length > 1 && random() < 0.3 ? integer(random, 0, all.length - 1) : -1;
  const gauges = all.filter((_, k) => k !== without);
  const columns = { doors, gauges, noise: pick(random, [0, 0.002, 0.01]), clock: integer(random, 0, 9_000_000) };
  const length = Math.min(Math.max(stimulus.length, 30e6), 60e6);
  const times = Array.from({ length: Math.floor((length + BEFORE) / STEP) }, (_, k) => k * STEP - BEFORE);
  const [faulty, sound] = [run(rig, fault.rig, stimulus, times, gauges), run(rig, rig, stimulus, times, gauges)];
  const moved = isShown(rig, faulty.trace, sound.trace, missing, SHOWN.positions);
  const off = differenceOf(faulty, sound, gauges);
  if (!moved && off > NOTHING && off < CLEAR) return null;
  const shows = moved || off >= CLEAR;
  // Most of what flows wrong hardly shows in a minute; three of four such logs are drawn again.
  if (!shows && flows.some((f) => f.mode === fault.mode) && random() < 0.75) return null;
  /** Whether what was named gives the same in the log. */
  const alike = (modes: readonly string[]): boolean => {
    const named = [...controlFaults(rig), ...flows].find((f) => modes.includes(f.mode));
    if (!named) return false;
    const other = run(rig, named.rig, stimulus, times, gauges);
    return (
      !isShown(rig, faulty.trace, other.trace, missing, SHOWN.positions) && differenceOf(faulty, other, gauges) < ALIKE
    );
  };
  const about = (made: Run, kind: DiagnosedCase['kind'], mode: string): DiagnosedCase => {
    const read = readLog(rig, textOf(rig, made, times, columns, random));
    if (!read.ok) throw new Error(read.problems[0]!.message);
    const driven = stimulusOf(rig, timing, read.log, null) ?? stimulus;
    const { ranking } = diagnose(rig, withPlaces(facts, read.log, driven), driven);
    const { modes } = ranking[0]!;
    const place = ranking.findIndex((e) => e.modes.includes(mode));
    const isFirst = place === 0 || (mode !== asDesigned() && alike(modes));
    const missed = mode === asDesigned() ? 'false alarm' : place > 0 && place < 3 ? 'first three' : 'not named';
    const label = `${rig.name}${missing >= 0 ? ', a door missing' : ''}${without >= 0 ? ', a gauge missing' : ''}, noise ${columns.noise}`;
    return { rig: label, kind, mode, named: modes.join(', or '), outcome: isFirst ? 'first' : missed };
  };
  return [
    about(faulty, shows ? fault.kind : 'none', shows ? fault.mode : asDesigned()),
    about(sound, 'none', asDesigned()),
  ];
}

/** Pairs of all rigs in turn, each drawn until it is clear what its log shows. */
export function readCases(rigs: readonly RigFacts[], pairs: number, random: Random): DiagnosedCase[] {
  return Array.from({ length: pairs }, (_, n) => {
    for (;;) {
      const pair = readPair(rigs[n % rigs.length]!, random);
      if (pair) return pair;
    }
  }).flat();
}
