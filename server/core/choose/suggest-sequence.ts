/**
 * An order of doors with windows from a stack and its medium alone. Doors of a stage pass their contents on one by one: never more
 * than two neighbours stand open, and the first is shut before the third leaves its seat, so no path is ever open from end to end. A gas may fill
 * the first two pockets at once; a liquid must find the door below open before a door closes on a full pocket. Two doors alternate, one opens and closes.
 */
import { stagesOf } from '../model/stages';
import type { Rig } from '../model/rig';
import { timeLiteral } from '../units/units';

export interface SuggestedStage {
  /** Indices into `chambers` above and below the stage (−1: none), and its doors in order. */
  readonly from: number;
  readonly to: number;
  readonly doors: readonly number[];
  /** Steps of its sequence: µs from its trigger. */
  readonly steps: readonly { readonly at: number; readonly open: boolean; readonly doors: readonly number[] }[];
  /** µs */
  readonly repeat: number;
}

export interface SuggestOptions {
  /** How long a door stays fully open before the next step, µs. */
  readonly dwell: number;
  /** Doors open two at once from the start (gas), or each while the one above stands open. */
  readonly pairwise: boolean;
}

/** What remains shut between two doors of a path that must never be open together, µs. */
const CLEAR = 200_000;

/** One sequence a stage of the rig; a door in several stages is in the first only. */
export function suggestSequence(rig: Rig, options: SuggestOptions): SuggestedStage[] {
  const taken = new Set<number>();
  return stagesOf(rig).flatMap(({ upstream, downstream, doors }) => {
    const own = doors.filter((d) => !taken.has(d));
    if (own.length === 0 || own.length < doors.length) return [];
    own.forEach((d) => taken.add(d));
    return [{ from: upstream, to: downstream, ...stageOf(rig, own, options) }];
  });
}

function stageOf(
  rig: Rig,
  doors: readonly number[],
  { dwell, pairwise }: SuggestOptions,
): Omit<SuggestedStage, 'from' | 'to'> {
  const steps: { at: number; open: boolean; doors: number[] }[] = [];
  const opens = (d: number): number => rig.doors[d]!.opensIn.nominal;
  const closes = (d: number): number => rig.doors[d]!.closesIn.nominal;
  const step = (at: number, open: boolean, ...list: number[]): void =>
    void steps.push({ at: rounded(at), open, doors: list });
  let t = 0;
  if (doors.length < 3) {
    for (const door of doors) {
      step(t, true, door);
      step((t = rounded(t + opens(door) + dwell)), false, door);
      t += closes(door) + CLEAR;
    }
  } else {
    const [first, second] = doors as [number, number];
    if (pairwise) step(0, true, first, second);
    else {
      step(0, true, first);
      step((t = rounded(opens(first) + dwell)), true, second);
    }
    for (let k = 2; k <= doors.length; k++) {
      const [above, below] = [doors[k - 2]!, doors[k - 1]!];
      // Above shuts once below stands open; then the next may leave its seat.
      t = rounded(t + Math.max(opens(above), opens(below)) + dwell);
      step(t, false, above);
      t = rounded(t + closes(above) + CLEAR);
      // Once the first is shut a liquid needs the whole way down: a door between two shut ones would close on a full pocket.
      const next = pairwise ? doors.slice(k, k + 1) : k === 2 ? doors.slice(2) : [];
      if (next.length > 0) step(t, true, ...next);
    }
    const last = doors[doors.length - 1]!;
    step(t, false, last);
    t += closes(last);
  }
  const repeat = Math.ceil((t + 2 * CLEAR + dwell) / 500_000) * 500_000;
  return { doors, steps, repeat };
}

/** Up to whole 50 ms. */
const rounded = (t: number): number => Math.ceil(t / 50_000) * 50_000;

/** The sequences as statements; `triggers` by stage. */
export function sequenceText(rig: Rig, stages: readonly SuggestedStage[], triggers: readonly string[]): string[] {
  const name = freeName(rig, 'stroke');
  return stages.map(({ steps, repeat }, k) => {
    const lines = steps.map(
      ({ at, open, doors }) =>
        `    at ${timeLiteral(at)}  ${open ? 'open' : 'close'} ${doors.map((d) => rig.doors[d]!.name).join(', ')}`,
    );
    const own = stages.length === 1 ? name : `${name}_${k + 1}`;
    return [`sequence ${own} on ${triggers[k]!} {`, ...lines, `    repeat after ${timeLiteral(repeat)}`, '  }'].join(
      '\n',
    );
  });
}

/** A name that nothing of the rig has, nor begins with. */
export function freeName(rig: Rig, wanted: string): string {
  const names = [rig.chambers, rig.doors, rig.sensors, rig.switches, rig.signals, rig.lines, rig.sequences]
    .flat()
    .map((item) => item.name);
  const isTaken = (name: string): boolean => names.some((n) => n === name || n.startsWith(`${name}_`));
  for (let i = 1; ; i++) {
    const candidate = i === 1 ? wanted : `${wanted}${i}`;
    if (!isTaken(candidate)) return candidate;
  }
}
