/** When the feeds and draws of the built rig ran: as their drive was logged or as the rig says; always on where nothing drives them. */
import type { StrokePattern } from '../flow/pattern';
import type { RigFacts } from '../run/facts';
import { expectedTrace } from './expected';
import type { Rig } from '../model/rig';
import { lineTracks, type LineOperation, type LineTrack } from './line-tracks';
import type { RigLog, StateColumn } from './log';
import type { Trace } from '../timing/trace';

type Intervals = StrokePattern['lines'][number];

/** `trace`: what the rig should have done, its clock that of the log, where that is known already; `switched`: lines that a scenario operates. */
export function lineTimes(
  facts: RigFacts,
  log: RigLog,
  trace: Trace | null = null,
  switched: readonly LineOperation[] = [],
): StrokePattern['lines'] {
  const { rig } = facts;
  const expected = drivesOf(rig).some((d) => d && !log.states.some((s) => s.net === d.net))
    ? (trace ?? expectedTrace(facts, log))
    : null;
  return timesOfLines(rig, log, expected && lineTracks(rig, expected, switched), switched);
}

const drivesOf = (rig: Rig) =>
  rig.lines.map((line, k) => rig.drives.find((d) => d.kind === line.kind && d.target === k));

/** The same from what the lines do, the clock of the tracks that of the log; a drive that was logged decides itself. */
export function timesOfLines(
  rig: Rig,
  log: RigLog,
  tracks: readonly LineTrack[] | null,
  switched: readonly LineOperation[],
): StrokePattern['lines'] {
  const [origin, end] = [log.times[0]!, log.times.at(-1)! + 1];
  return drivesOf(rig).map((drive, k): Intervals => {
    const operated = switched.filter((o) => o.line === k);
    if (operated.length > 0) return stretches(true, since(operated, origin), end - origin);
    const logged = drive && log.states.find((s) => s.net === drive.net);
    if (logged) return onWhile(log, logged);
    const { initial, changes } = tracks?.[k] ?? { initial: true, changes: [] };
    return stretches(initial, since(changes, origin), end - origin);
  });
}

const since = (changes: readonly { readonly t: number; readonly on: boolean }[], origin: number) =>
  changes.map(({ t, on }) => ({ t: t - origin, on }));

/** Stretches in which a logged state is on. */
function onWhile(log: RigLog, { states }: StateColumn): Intervals {
  const origin = log.times[0]!;
  const changes: { t: number; on: boolean }[] = [];
  let last = -1;
  states.forEach((s, k) => {
    if (s < 0 || s === last) return;
    if (last >= 0) changes.push({ t: log.times[k]! - origin, on: s === 1 });
    last = s;
  });
  return stretches(states.find((s) => s >= 0) === 1, changes, log.times.at(-1)! + 1 - origin);
}

function stretches(initially: boolean, changes: readonly { t: number; on: boolean }[], end: number): Intervals {
  const found: [number, number][] = [];
  let from: number | null = initially ? -Infinity : null;
  for (const { t, on } of changes) {
    if (on) from ??= t;
    else if (from !== null) {
      found.push([from, t]);
      from = null;
    }
  }
  if (from !== null) found.push([from, end]);
  return found.map(([a, b]) => [Math.max(0, a), Math.min(end, b)] as const).filter(([a, b]) => b > a);
}
