/**
 * The facts about time as plain data for `caisson timing --json`: seconds from the trigger's edge. The shape is kept; its JSON
 * schema is `timing.schema.json` beside this file, and grammar/REFERENCE.md describes it.
 */
import type { Interval, StrokeFacts } from '../timing/facts';
import { clockOf } from '../timing/clock';
import type { RigFacts } from '../run/facts';
import type { Rig } from '../model/rig';

/** `[from, to]` in seconds; `to` is null where it does not end. */
export type JsonInterval = readonly [number, number | null];

export interface TimingJson {
  readonly name: string;
  readonly triggers: readonly TriggerJson[];
}

export interface TriggerJson {
  readonly sensor: string;
  readonly becomes: boolean;
  /** What switches by itself, where doors depend on it: all times are those of a trigger `before` seconds before its next change. */
  readonly clock: {
    readonly name: string;
    readonly becomes: boolean;
    readonly before: number;
    readonly period: number | null;
    readonly doors: readonly string[];
  } | null;
  readonly doors: readonly {
    readonly name: string;
    readonly windows: readonly {
      readonly commanded: JsonInterval | null;
      readonly notShut: JsonInterval | null;
      readonly fullyOpen: JsonInterval | null;
    }[];
  }[];
  readonly pairs: readonly {
    readonly doors: readonly [string, string];
    readonly overlap: number | 'no end' | null;
    readonly leastOverlap: number | 'no end' | null;
    readonly gap: number | null;
  }[];
  readonly straightThrough: readonly JsonInterval[];
  readonly strokeEnds: number | null;
  readonly repeat: number | null;
  readonly strokeCount: number | null;
  readonly timers: readonly {
    readonly name: string;
    readonly preset: number;
    readonly longestInput: number | null;
    readonly margin: number | null;
  }[];
}

/** Microseconds to seconds: the nearest double prints as the exact decimal for every time below 285 years. */
export function seconds(microseconds: number): number;
export function seconds(microseconds: number | null): number | null;
export function seconds(microseconds: number | null): number | null {
  return microseconds === null ? null : microseconds / 1e6;
}

function interval(i: Interval): JsonInterval {
  return [seconds(i.from), seconds(i.to)];
}

export function timingJson(facts: RigFacts): TimingJson {
  return { name: facts.rig.name, triggers: facts.timing.strokes.map((stroke) => triggerJson(facts.rig, stroke)) };
}

const secondsOrNoEnd = (t: number | null): number | 'no end' | null => (t === Infinity ? 'no end' : seconds(t));

function clockJson(rig: Rig, stroke: StrokeFacts): TriggerJson['clock'] {
  const clock = clockOf(rig, stroke);
  return (
    clock && {
      name: rig.network.nets[clock.next.net]!.name,
      becomes: clock.next.value,
      before: seconds(clock.next.t),
      period: seconds(clock.period),
      doors: clock.doors.map((door) => rig.doors[door]!.name),
    }
  );
}

function triggerJson(rig: Rig, stroke: StrokeFacts): TriggerJson {
  return {
    sensor: stroke.trigger.name,
    becomes: stroke.becomes,
    clock: clockJson(rig, stroke),
    doors: stroke.doors.map((door) => ({
      name: rig.doors[door.door]!.name,
      windows: door.windows.map((window) => ({
        commanded: window.commanded && interval(window.commanded),
        notShut: interval(window.notShut),
        fullyOpen: window.fullyOpen && interval(window.fullyOpen),
      })),
    })),
    pairs: stroke.pairs.map((pair) => ({
      doors: [rig.doors[pair.doors[0]]!.name, rig.doors[pair.doors[1]]!.name] as const,
      overlap: secondsOrNoEnd(pair.overlap),
      leastOverlap: secondsOrNoEnd(pair.leastOverlap),
      gap: seconds(pair.gap),
    })),
    straightThrough: stroke.straightThrough.flatMap((path) => path.intervals.map(interval)),
    strokeEnds: seconds(stroke.strokeEnds),
    repeat: seconds(stroke.repeat),
    strokeCount: stroke.strokeCount,
    timers: stroke.timers.map((timer) => ({
      name: timer.name,
      preset: seconds(timer.preset),
      longestInput: seconds(timer.longestInput),
      margin: seconds(timer.margin),
    })),
  };
}
