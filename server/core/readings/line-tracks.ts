/** When feeds and draws run along a trace: as their drives say, or a scenario; always where nothing drives them. */
import type { Rig, Scenario } from '../model/rig';
import type { Trace } from '../timing/trace';

export interface LineTrack {
  /** At the start of the trace. */
  readonly initial: boolean;
  /** In order of time, µs of the trace. */
  readonly changes: readonly { readonly t: number; readonly on: boolean }[];
}

/** A line switched from outside. */
export interface LineOperation {
  readonly t: number;
  readonly line: number;
  readonly on: boolean;
}

/** One per line of the rig; `operated`: what a scenario switches, which then decides alone. */
export const lineTracks = (rig: Rig, trace: Trace, operated: readonly LineOperation[] = []): LineTrack[] =>
  rig.lines.map((line, k) => {
    const own = operated.filter((o) => o.line === k);
    if (own.length > 0) return { initial: true, changes: own.map(({ t, on }) => ({ t, on })) };
    const drive = rig.drives.find((d) => d.kind === line.kind && d.target === k);
    if (!drive) return { initial: true, changes: [] };
    const edges = trace.edges.filter((e) => e.net === drive.net);
    return { initial: trace.initial[drive.net]!, changes: edges.map((e) => ({ t: e.t, on: e.value })) };
  });

/** Whether a line runs at a moment. */
export const runsAt = ({ initial, changes }: LineTrack, t: number): boolean =>
  changes.filter((c) => c.t <= t).at(-1)?.on ?? initial;

/** What a scenario switches on and off of feeds and draws; its time zero is at `offset`. */
export const operatedLines = (scenario: Scenario | null, offset: number): LineOperation[] =>
  (scenario?.steps ?? []).flatMap(({ at, action, target, on }) =>
    action === 'feed' || action === 'draw' ? [{ t: at.nominal + offset, line: target, on }] : [],
  );

/** What a line does, and from when on: only what lasts, beginning with the start. */
export function stretches(
  { initial, changes }: LineTrack,
  start: number,
): { readonly t: number; readonly on: boolean }[] {
  const kept = [{ t: start, on: initial }];
  for (const c of changes) {
    if (kept.length > 1 && kept.at(-1)!.t === c.t) kept.pop();
    if (kept.at(-1)!.on !== c.on) kept.push(c);
  }
  return kept;
}

export const everRuns = ({ initial, changes }: LineTrack): boolean => initial || changes.some((c) => c.on);
