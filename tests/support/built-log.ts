/** Logs of a rig as built, as a logger would write them: its doors, signals and contents along a run of the event engine, with noise from a seed. */
import { positionAt } from '../../server/core/model/motion';
import type { Rig, Sensed } from '../../server/core/model/rig';
import { follow, type Stimulus } from '../../server/core/readings/stimulus';
import { netAt } from '../../server/core/timing/course';
import type { Trace } from '../../server/core/timing/trace';
import { contentsAlong, normal } from './synthetic-log';
import type { Random } from './random';

export interface BuiltLog {
  /** The rig as built; null: without supply. */
  readonly built: Rig | null;
  readonly stimulus: Stimulus;
  readonly random: Random;
  /** µs */
  readonly step: number;
  readonly length: number;
  /** Standard deviation of positions (0 … 1), and of contents as a share of what is read. */
  readonly noise: number;
  /** µs of the log's clock at time zero of the rig. */
  readonly clock: number;
  readonly doors: readonly number[];
  /** Names of sensors, switches and signals. */
  readonly signals?: readonly string[];
  readonly read?: readonly {
    readonly chamber: number;
    readonly sensed: Sensed;
    readonly unit: string;
    readonly factor: number;
  }[];
  /** µs before time zero at which it begins. */
  readonly before?: number;
  /** Doors as `shut`, `moving`, `open`. */
  readonly states?: boolean;
}

/** The text of the log. `rig`: as written. */
export function builtLog(rig: Rig, how: BuiltLog): string {
  const { built, stimulus, random, step, length, noise, clock } = how;
  const trace = follow(rig, built, stimulus, length);
  const phase = Math.round(random() * step);
  const times: number[] = [];
  for (let t = phase - (how.before ?? 1_000_000); t <= length; t += step) times.push(t);
  const nets = (how.signals ?? []).map((name) => rig.network.nets.findIndex((n) => n.name === name));
  const read = how.read ?? [];
  const contents = read.length > 0 ? contentsOf(rig, trace, times, read) : times.map(() => []);
  const rows = times.map((t, k) => {
    const doors = how.doors.map((d) => {
      const x = positionAt(trace.doors[d]!, t);
      if (how.states) return x <= 0 ? 'shut' : x >= 1 ? 'open' : 'moving';
      return (x + noise * normal(random)).toFixed(4);
    });
    const states = nets.map((n) => (netAt(trace, n, t) ? '1' : '0'));
    const cells = contents[k]!.map((v, c) => ((v * (1 + noise * normal(random))) / read[c]!.factor).toFixed(5));
    return [((t + clock) / 1e6).toFixed(6), ...doors, ...states, ...cells].join(',');
  });
  const heads = read.map((r) => `${rig.chambers[r.chamber]!.name} ${r.sensed} [${r.unit}]`);
  const names = [...how.doors.map((d) => rig.doors[d]!.name), ...(how.signals ?? []), ...heads];
  return [`time [s],${names.join(',')}`, ...rows].join('\n') + '\n';
}

function contentsOf(rig: Rig, trace: Trace, times: readonly number[], read: NonNullable<BuiltLog['read']>): number[][] {
  const from = times[0]!;
  const paths = trace.doors.map(({ initial, moves }) => {
    const before = moves.filter((m) => m.arrives <= from);
    return {
      initial: before.length > 0 ? before.at(-1)!.to : initial,
      moves: moves
        .filter((m) => m.t >= from)
        .map((m) => ({ t: m.t - from, from: m.from, to: m.to, arrives: m.arrives - from })),
    };
  });
  return contentsAlong(
    rig,
    paths,
    times.map((t) => t - from),
    read,
  );
}
