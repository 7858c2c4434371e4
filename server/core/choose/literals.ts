/** The times of a rig that can be turned like screws: presets and steps as they stand in the text. */
import type { Source } from '../model/problem';
import type { Rig, TimeValue } from '../model/rig';
import type { CauseLink } from '../timing/facts';

/** One time in the text. A literal in a part placed twice, or one that two timers share, is one screw. */
export interface TimeLiteral {
  readonly at: Source;
  /** Microseconds. */
  readonly value: number;
  /** What it times, for titles: the names of its timers, or of its sequence. */
  readonly name: string;
}

export function sameSource(a: Source, b: Source): boolean {
  return a.start === b.start && a.end === b.end && a.uri === b.uri;
}

/** Presets of the timers that ran out in a chain of causes, the one nearest to its end first. */
export function literalsInChain(rig: Rig, chain: readonly CauseLink[]): TimeLiteral[] {
  const found: TimeLiteral[] = [];
  for (const link of [...chain].reverse()) {
    const net = link.kind === 'element' ? rig.network.nets[link.index] : undefined;
    const preset = net?.kind === 'element' ? rig.network.elements[net.index]?.preset : null;
    if (!preset || link.preset === 0 || found.some((f) => sameSource(f.at, preset.at))) continue;
    found.push({ at: preset.at, value: preset.nominal, name: link.name });
  }
  return found;
}

/** A place as a key. */
export const placeKey = ({ uri, start, end }: Source): string => `${uri}#${start}#${end}`;

/** The rig with the time at one place changed; everything that takes its time from there changes with it. */
export const withTime = (rig: Rig, at: Source, value: number): Rig =>
  turned(rig, (time) => (sameSource(time.at, at) ? value : undefined));

/** The same with several times, by the key of their places. */
export const withTimes = (rig: Rig, values: ReadonlyMap<string, number>): Rig =>
  values.size === 0 ? rig : turned(rig, (time) => values.get(placeKey(time.at)));

function turned(rig: Rig, valueOf: (time: TimeValue) => number | undefined): Rig {
  const change = <T extends TimeValue | null>(time: T): T => {
    const value = time ? valueOf(time) : undefined;
    return value === undefined ? time : (moved(time!, value) as T);
  };
  return {
    ...rig,
    network: { ...rig.network, elements: rig.network.elements.map((e) => ({ ...e, preset: change(e.preset) })) },
    sequences: rig.sequences.map((s) => ({
      ...s,
      steps: s.steps.map((step) => ({ ...step, at: change(step.at) })),
      repeatAfter: change(s.repeatAfter),
    })),
  };
}

/** Another nominal time with the tolerance as stated: a share of it moves with the value (to 1 µs, as ends are rounded outward). */
function moved(time: TimeValue, value: number): TimeValue {
  const shift = value - time.nominal;
  const { min: down, max: up } = time.slopes ?? { min: 1, max: 1 };
  const [min, max] = [Math.floor(time.min + down * shift), Math.ceil(time.max + up * shift)];
  return { ...time, nominal: value, min: Math.max(0, min), max };
}
