/** Seeded logs of rigs built just as written, or with every time at random within its tolerance, and whether `compare` calls them within. */
import type { Rig, TimeValue } from '../../server/core/model/rig';
import { compareLog } from '../../server/core/readings/compare';
import { readLog } from '../../server/core/readings/log-csv';
import { stimuliOf, stimulusOf } from '../../server/core/readings/stimulus';
import type { RigFacts } from '../../server/core/run/facts';
import { builtLog } from './built-log';
import { integer, pick, type Random } from './random';

export interface ComparedCase {
  readonly rig: string;
  /** As written, or each time somewhere within its tolerance. */
  readonly built: 'nominal' | 'within';
  readonly reads: 'doors' | 'doors, signals' | 'doors, pressures';
  readonly edges: number;
  /** Edges that are said to deviate; columns of readings that are. */
  readonly alarms: number;
  readonly columns: number;
  readonly summary: string;
}

/** Every preset, response and travel drawn evenly between its least and its greatest. */
function drawn(rig: Rig, random: Random): Rig {
  const one = (t: TimeValue): TimeValue => {
    const value = Math.round(t.min + (t.max - t.min) * random());
    return { ...t, nominal: value, min: value, max: value };
  };
  return {
    ...rig,
    doors: rig.doors.map((d) => ({ ...d, opensIn: one(d.opensIn), closesIn: one(d.closesIn) })),
    network: {
      ...rig.network,
      elements: rig.network.elements.map((e) => ({
        ...e,
        preset: e.preset && one(e.preset),
        response: one(e.response),
      })),
    },
  };
}

/** `as`: the rig as built, where it is neither as written nor within tolerance. */
export function comparedCase(facts: RigFacts, random: Random, as: Rig | null = null): ComparedCase {
  const { rig, timing } = facts;
  const [stimulus] = stimuliOf(rig, timing);
  const built = pick(random, ['nominal', 'within'] as const);
  const isGas = rig.medium?.phase === 'gas';
  const reads = pick(random, ['doors', 'doors, signals', ...(isGas ? (['doors, pressures'] as const) : [])] as const);
  const step = pick(random, [10_000, 20_000, 50_000, 100_000]);
  const text = builtLog(rig, {
    built: as ?? (built === 'nominal' ? rig : drawn(rig, random)),
    stimulus: stimulus!,
    random,
    step,
    length: Math.min(stimulus!.length, 60e6),
    noise: pick(random, [0, 0.002, 0.01]),
    clock: integer(random, 0, 9_000_000),
    doors: rig.doors.map((_, k) => k),
    signals: reads === 'doors, signals' ? rig.network.elements.map((e) => e.name).filter((n) => /^\w+$/.test(n)) : [],
    read:
      reads === 'doors, pressures'
        ? rig.chambers.flatMap((c, chamber) =>
            c.endless ? [] : [{ chamber, sensed: 'pressure' as const, unit: 'bar', factor: 1e5 }],
          )
        : [],
  });
  const reading = readLog(rig, text);
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  const found = compareLog(facts, reading.log, stimulusOf(rig, timing, reading.log, null) ?? stimulus!);
  return {
    rig: rig.name,
    built,
    reads,
    edges: found.edges.length,
    alarms: found.edges.filter((e) => !e.within).length,
    columns: found.readings.filter((r) => !r.within).length,
    summary: `step ${step / 1000} ms: ${found.summary}`,
  };
}

export function comparedTable(cases: readonly ComparedCase[], by: (c: ComparedCase) => string): string[] {
  const row = (name: string, own: readonly ComparedCase[]): string => {
    const wrong = own.filter((c) => c.alarms + c.columns > 0).length;
    const edges = own.reduce((n, c) => n + c.edges, 0);
    const alarms = own.reduce((n, c) => n + c.alarms, 0);
    return `${name.padEnd(28)}${String(own.length).padStart(6)} logs, ${wrong} called deviating (${((100 * wrong) / own.length).toFixed(1)} %); ${alarms} of ${edges} edges`;
  };
  const names = [...new Set(cases.map(by))].sort();
  return [
    ...names.map((name) =>
      row(
        name,
        cases.filter((c) => by(c) === name),
      ),
    ),
    row('all', cases),
  ];
}
