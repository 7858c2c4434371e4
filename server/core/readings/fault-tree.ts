/**
 * The observations that tell classes of faults apart, as a decision tree: each node is one look at one door at one moment. The look is
 * the one that leaves the least uncertainty (greatest information gain); the tree of fewest looks is not searched for exhaustively.
 */
import { positionAt } from '../model/motion';
import type { Rig } from '../model/rig';
import type { Trace } from '../timing/trace';
import type { Stimulus } from './stimulus';

export type TestNode =
  | { readonly kind: 'leaf'; readonly classes: readonly number[] }
  | {
      readonly kind: 'look';
      readonly stimulus: string;
      readonly t: number;
      readonly door: string;
      readonly outcomes: readonly { readonly seen: DoorState; readonly then: TestNode }[];
    };

export type DoorState = 'shut' | 'moving' | 'open';
const STATES: readonly DoorState[] = ['shut', 'moving', 'open'];

/** Moments tried per door and course. */
const MOST_MOMENTS = 60;

interface Look {
  readonly stimulus: string;
  readonly t: number;
  readonly door: string;
  /** Per class, index into STATES. */
  readonly outcome: Uint8Array;
}

export function decisionTree(rig: Rig, stimuli: readonly Stimulus[], classes: readonly (readonly Trace[])[]): TestNode {
  const looks = stimuli.flatMap((stimulus, s) =>
    rig.doors.flatMap((door, d) =>
      looksAt(
        stimulus.label,
        door.name,
        classes.map((c) => c[s]!),
        d,
      ),
    ),
  );
  return grow(
    looks,
    classes.map((_, k) => k),
  );
}

function looksAt(stimulus: string, door: string, traces: readonly Trace[], d: number): Look[] {
  const { end } = traces[0]!;
  const changes = traces.flatMap((t) => t.doors[d]!.moves.flatMap((m) => [m.t, m.arrives]));
  const times = [...new Set([0, ...changes, end])].filter((t) => t >= 0 && t <= end).sort((a, b) => a - b);
  const middles = times.slice(1).map((t, k) => ({ t: Math.round((t + times[k]!) / 2), length: t - times[k]! }));
  // Long stretches are the easiest to hit by eye or by a slow logger.
  const chosen = middles.sort((a, b) => b.length - a.length).slice(0, MOST_MOMENTS);
  return chosen.map(({ t }) => ({
    stimulus,
    door,
    t,
    outcome: Uint8Array.from(traces, (trace) => stateAt(trace, d, t)),
  }));
}

function stateAt(trace: Trace, door: number, t: number): number {
  const position = positionAt(trace.doors[door]!, t);
  return position <= 0 ? 0 : position >= 1 ? 2 : 1;
}

function grow(looks: readonly Look[], classes: readonly number[]): TestNode {
  if (classes.length <= 1) return { kind: 'leaf', classes };
  let best: Look | null = null;
  let least = classes.length * Math.log2(classes.length) - 1e-9;
  for (const look of looks) {
    const counts = [0, 0, 0];
    for (const c of classes) counts[look.outcome[c]!]!++;
    const left = counts.reduce((sum, n) => sum + (n > 0 ? n * Math.log2(n) : 0), 0);
    if (left < least) [best, least] = [look, left];
  }
  if (!best) return { kind: 'leaf', classes };
  const { stimulus, t, door, outcome } = best;
  const outcomes = STATES.flatMap((seen, k) => {
    const there = classes.filter((c) => outcome[c] === k);
    return there.length > 0 ? [{ seen, then: grow(looks, there) }] : [];
  });
  return { kind: 'look', stimulus, t, door, outcomes };
}
