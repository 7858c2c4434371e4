/**
 * What the timing metrics ask for, read from a value change dump (IEEE 1364) as their definitions in the reference say, and from nothing else: no
 * code of the core. Whole microseconds; `Infinity` for what has no end.
 */

/** From, to; −∞ where it was so before the trigger, ∞ where it does not end. */
export type Stretch = readonly [number, number];

export interface Dump {
  /** Stretches in which each name is on; ones that the dump cuts off in its second half are left out. */
  readonly on: ReadonlyMap<string, readonly Stretch[]>;
}

export function readDump(text: string, until: number): Dump {
  const names = new Map<string, string>();
  const since = new Map<string, number | null>();
  const on = new Map<string, Stretch[]>();
  let t = -Infinity;
  for (const line of text.split('\n')) {
    const declared = /^\$var wire 1 (\S+) \\?(\S+) \$end$/.exec(line);
    if (declared) {
      names.set(declared[1]!, declared[2]!);
      on.set(declared[2]!, []);
      continue;
    }
    // What `$dumpvars` states at the start is as it was before.
    if (line === '$end') t = 0;
    else if (line.startsWith('#') && t >= 0) t = Number(line.slice(1));
    const change = /^([01])(\S+)$/.exec(line);
    if (!change) continue;
    const name = names.get(change[2]!)!;
    const from = since.get(name) ?? null;
    if (change[1] === '1') since.set(name, t);
    else if (from !== null) {
      on.get(name)!.push([from, t]);
      since.set(name, null);
    }
  }
  for (const [name, from] of since) if (from !== null && from < until / 2) on.get(name)!.push([from, Infinity]);
  return { on };
}

const length = ([from, to]: Stretch): number => (from === -Infinity ? Infinity : to - from);
/** What two have in common from the trigger on. */
const common = (a: Stretch, b: Stretch): Stretch => [Math.max(a[0], b[0], 0), Math.min(a[1], b[1])];
const least = (list: readonly number[]): number | null => (list.length === 0 ? null : Math.min(...list));

/** Each metric on doors or signals by name: every value that it has, null where it has none. */
export function createReader({ on }: Dump, doors: readonly string[]) {
  const notShut = (door: string): readonly Stretch[] => on.get(door)!;
  const fullyOpen = (door: string): readonly Stretch[] => on.get(`${door}.fully_open`)!;
  const within = (outer: Stretch, list: readonly Stretch[]): readonly Stretch[] =>
    list.filter((inner) => inner[0] >= outer[0] && inner[1] <= outer[1]);
  const meetings = (a: readonly Stretch[], b: readonly Stretch[]): Stretch[] =>
    a.flatMap((x) => b.map((y) => common(x, y))).filter(([from, to]) => from < to);
  const bothOpen = (a: string, b: string): boolean => notShut(a).length > 0 && notShut(b).length > 0;
  const first = (list: readonly number[]): number[] | null => {
    const found = least(list.filter((t) => t >= 0 && Number.isFinite(t)));
    return found === null ? null : [found];
  };
  /**
   * Starts of strokes and how long the first lasts. A stroke starts with the door that leaves its place first, and ends when every door is back that
   * has left it before the next one starts; null where that door leaves its place at changing intervals, so that one cannot tell by it alone.
   */
  const strokes = (): { interval: number | null; ends: number } | null => {
    const away = doors.map((door) => awayFrom(notShut(door), fullyOpen(door)));
    const from = (list: readonly Stretch[]): number => list[0]?.[0] ?? Infinity;
    const [lead] = [...away].sort((a, b) => from(a) - from(b));
    const starts = (lead ?? []).map(([t]) => t);
    const times = starts.slice(1).map((t, k) => t - starts[k]!);
    if (starts.length === 0 || new Set(times).size > 1) return null;
    const own = away.flat().filter(([leaves]) => leaves < (starts[1] ?? Infinity));
    return { interval: times[0] ?? null, ends: Math.max(...own.map(([, back]) => back)) };
  };
  const gaps = (a: string, b: string): number[] => {
    const [mine, theirs] = [notShut(a), notShut(b)];
    const after = (x: readonly Stretch[], y: readonly Stretch[]): number[] =>
      x.flatMap(([, shut]) => y.map(([opens]) => opens - shut).filter((gap) => gap >= 0 && Number.isFinite(gap)));
    return [...after(mine, theirs), ...after(theirs, mine), ...meetings(mine, theirs).map((both) => -length(both))];
  };
  const eventOf = (door: string, event: string): number[] | null =>
    event === 'opens' ? first(notShut(door).map(([from]) => from)) : first(notShut(door).map(([, to]) => to));
  return {
    window: (door: string) =>
      notShut(door).length === 0
        ? null
        : notShut(door).flatMap((opening) => {
            const open = within(opening, fullyOpen(door));
            return open.length > 0 ? open.map(length) : [0];
          }),
    open_time: (door: string) => (notShut(door).length === 0 ? null : notShut(door).map(length)),
    overlap: (a: string, b: string) => {
      if (!bothOpen(a, b)) return null;
      const found = meetings(fullyOpen(a), fullyOpen(b)).map(length);
      return found.length > 0 ? found : [0];
    },
    gap: (a: string, b: string) => {
      const found = bothOpen(a, b) ? least(gaps(a, b)) : null;
      return found === null ? null : [found];
    },
    opens_at: (door: string) => eventOf(door, 'opens'),
    opened_at: (door: string) => first(fullyOpen(door).map(([from]) => from)),
    shuts_at: (door: string) => eventOf(door, 'shuts'),
    pulse: (signal: string) => {
      const found = on.get(signal)!.filter(([from]) => from >= 0);
      return found.length === 0 ? null : found.map(length);
    },
    /** Of an on-delay with this input. */
    margin: (input: string, preset: number) => {
      const found = on.get(input)!.map(length);
      return found.length === 0 ? null : [Math.max(...found) - preset];
    },
    strokes,
    never: (a: string, b: string) => [meetings(notShut(a), notShut(b)).length === 0 ? 1 : 0],
    order: (a: string, b: string) => {
      const [x, y] = [eventOf(a, 'shuts'), eventOf(b, 'opens')];
      return [x && y && x[0]! < y[0]! ? 1 : 0];
    },
    stands_open: (door: string) => [fullyOpen(door).some(([from]) => from === -Infinity) ? 1 : 0],
  };
}

/** Stretches in which a door is not where it stood before the trigger: shut, or fully open. */
function awayFrom(notShut: readonly Stretch[], fullyOpen: readonly Stretch[]): Stretch[] {
  if (!fullyOpen.some(([from]) => from === -Infinity)) return notShut.map((s) => s);
  const [, ...later] = fullyOpen;
  return fullyOpen
    .filter(([, to]) => to !== Infinity)
    .map(([, leaves], k): Stretch => [leaves, later[k]?.[0] ?? Infinity]);
}
