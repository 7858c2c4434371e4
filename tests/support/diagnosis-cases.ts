/** Seeded logs of rigs with one fault or none, and how they are diagnosed: named first, among the first three, not named, or a false alarm. */
import { positionAt } from '../../server/core/model/motion';
import type { Rig } from '../../server/core/model/rig';
import { withPlaces } from '../../server/core/readings/change-place';
import { asDesigned, diagnose, type Diagnosis } from '../../server/core/readings/diagnose';
import type { FaultKind } from '../../server/core/readings/fault-list';
import { faultsOf } from '../../server/core/readings/single-faults';
import type { RigLog } from '../../server/core/readings/log';
import { readLog } from '../../server/core/readings/log-csv';
import { follow, stimuliOf, stimulusOf } from '../../server/core/readings/stimulus';
import { analyseRig } from '../../server/core/run/analyse';
import type { RigFacts } from '../../server/core/run/facts';
import type { Trace } from '../../server/core/timing/trace';
import { integer, pick, type Random } from './random';
import { normal } from './synthetic-log';

/** Differences below this are less than readings every 50 ms can show: of positions, and of states, which change between two of them. */
export const SHOWN = { positions: 30_000, states: 110_000 };
const STEP = 50_000;

export type Outcome = 'first' | 'first three' | 'not named' | 'false alarm';

export interface DiagnosedCase {
  readonly rig: string;
  /** Of the fault; `none` where the log is that of a sound rig, or shows nothing of its fault. */
  readonly kind: FaultKind | 'none';
  readonly mode: string;
  readonly outcome: Outcome;
  /** What was named first. */
  readonly named: string;
}

/** What a column of a door holds: positions, whether it moves, or two states that change on the way, at its seat or at the open end. */
export type Form = 'positions' | 'moving' | 'half' | 'seat' | 'open end';
const FORMS: readonly Form[] = ['positions', 'positions', 'positions', 'moving', 'half', 'seat', 'open end'];
const OPEN_FROM = { half: 0.5, seat: 1e-6, 'open end': 1 - 1e-6 } as const;

function cellOf(x: number, form: Form, noise: number): string {
  if (form === 'positions') return (x + noise).toFixed(4);
  if (form === 'moving') return x === 0 ? 'shut' : x === 1 ? 'open' : 'moving';
  return x >= OPEN_FROM[form] ? '1' : '0';
}

/** Readings every 50 ms with noise, from a second before the trigger; the clock is off. Without the door `missing`. */
export function loggedTrace(rig: Rig, trace: Trace, random: Random, missing = -1, form: Form = 'positions'): RigLog {
  const noise = pick(random, [0, 0.004, 0.02]);
  const clock = integer(random, 0, 9_000_000);
  const doors = rig.doors.map((d, k) => ({ ...d, k })).filter(({ k }) => k !== missing);
  const rows = [`time [s],${doors.map((d) => d.name).join(',')}`];
  for (let t = -1_000_000; t <= trace.end; t += STEP) {
    const cells = doors.map(({ k }) => cellOf(positionAt(trace.doors[k]!, t), form, noise * normal(random)));
    rows.push([((t + clock) / 1e6).toFixed(6), ...cells].join(','));
  }
  const reading = readLog(rig, rows.join('\n'));
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  return reading.log;
}

/** One faulty log and one sound one of the same rig, stroke and noise. */
export function diagnosedPair(facts: RigFacts, random: Random): [DiagnosedCase, DiagnosedCase] {
  const { rig, timing } = facts;
  const stimulus = pick(
    random,
    stimuliOf(rig, timing).filter((s) => s.scenario === null),
  );
  const fault = pick(random, faultsOf(rig));
  const missing = rig.doors.length > 1 && random() < 0.3 ? integer(random, 0, rig.doors.length - 1) : -1;
  const form = pick(random, FORMS);
  const [faulty, sound] = [follow(rig, fault.rig, stimulus), follow(rig, rig, stimulus)];
  const about = (trace: Trace, kind: DiagnosedCase['kind'], mode: string): DiagnosedCase => {
    const read = loggedTrace(rig, trace, random, missing, form);
    const driven = stimulusOf(rig, timing, read, null) ?? stimulus;
    const found = diagnose(rig, withPlaces(facts, read, driven), driven);
    const named = found.ranking[0]!.modes.join(', or ');
    return { rig: `${rig.name} (${form})`, kind, mode, named, outcome: outcomeOf(found, mode) };
  };
  const shows = isShown(rig, faulty, sound, missing, form === 'positions' ? SHOWN.positions : SHOWN.states);
  return [
    about(faulty, shows ? fault.kind : 'none', shows ? fault.mode : asDesigned()),
    about(sound, 'none', asDesigned()),
  ];
}

function outcomeOf({ ranking }: Diagnosis, mode: string): Outcome {
  const place = ranking.findIndex((e) => e.modes.includes(mode));
  if (place === 0) return 'first';
  if (mode === asDesigned()) return 'false alarm';
  return place > 0 && place < 3 ? 'first three' : 'not named';
}

export function isShown(rig: Rig, faulty: Trace, sound: Trace, missing: number, least: number): boolean {
  const times = (t: Trace, d: number): number[] => t.doors[d]!.moves.flatMap((m) => [m.t, m.arrives]);
  return rig.doors.some((_, d) => {
    const [a, b] = [times(faulty, d), times(sound, d)];
    if (d === missing) return false;
    if (faulty.doors[d]!.initial !== sound.doors[d]!.initial || a.length !== b.length) return true;
    return a.some((t, k) => Math.abs(t - b[k]!) >= least);
  });
}

/** Pairs of all rigs in turn. */
export const diagnosedCases = (rigs: readonly Rig[], pairs: number, random: Random): DiagnosedCase[] => {
  const facts = rigs.map((rig) => analyseRig(rig));
  return Array.from({ length: pairs }, (_, n) => diagnosedPair(facts[n % facts.length]!, random)).flat();
};

/** Lines of a table: what of the cases, how many, and their outcomes. */
export function diagnosisTable(cases: readonly DiagnosedCase[], by: (c: DiagnosedCase) => string): string[] {
  const outcomes: readonly Outcome[] = ['first', 'first three', 'not named', 'false alarm'];
  const names = [...new Set(cases.map(by))].sort();
  const row = (name: string, own: readonly DiagnosedCase[]): string =>
    [
      name.padEnd(22),
      String(own.length).padStart(5),
      ...outcomes.map((o) => String(own.filter((c) => c.outcome === o).length).padStart(12)),
    ].join('');
  return [
    ['case'.padEnd(22), 'logs'.padStart(5), ...outcomes.map((o) => o.padStart(12))].join(''),
    ...names.map((name) =>
      row(
        name,
        cases.filter((c) => by(c) === name),
      ),
    ),
    row('all', cases),
  ];
}
