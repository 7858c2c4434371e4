/** The properties of a proof as small trackers for the exhaustive exploration, in words of their own. */
import type { Condition, Logic, Rig } from '../../server/core/model/rig';
import type { Property } from '../../server/core/proof/monitor';
import { atAnyMoment, explore, type Seen, type Tracker } from './exhaustive';

type Of<K extends Property['kind']> = Extract<Property, { kind: K }>;

/** Whether each property is ever broken; null where it could not be told within `limit` states. */
export function truths(rig: Rig, properties: readonly Property[], limit: number): (boolean | null)[] {
  const tracked = properties.filter((p) => p.kind !== 'switched-off' && p.kind !== 'left-open' && !isVented(p));
  const found = explore(
    rig,
    tracked.map((p) => trackerOf(p, rig)),
    limit,
  );
  return properties.map((p) => {
    if (p.kind === 'switched-off') return neverRests(rig, p, limit);
    if (p.kind === 'left-open') return explore(aloneWith(rig, [p.door]), [trackerOf(p, rig)], limit)[0]!;
    if (isVented(p)) return explore(aloneWith(rig, p.doors), [ventedTracker(p, trackerOf(p, rig))], limit)[0]!;
    return found[tracked.indexOf(p)]!;
  });
}

const isVented = (p: Property): p is Of<'straight-through' | 'power-loss'> => 'vents' in p && p.vents!.length > 0;

/** Remembers whether a vent was thrown since the rig was last at rest: what breaks meanwhile is meant. */
function ventedTracker({ vents }: Of<'straight-through' | 'power-loss'>, path: Tracker): Tracker {
  return {
    start: [0],
    step(memory, seen) {
      const thrown = vents!.some(({ net, thrown: value }) => seen.net(net) === value);
      const excused = thrown || (memory[0] === 1 && !seen.still);
      return excused || path.step([], seen) !== null ? [Number(excused)] : null;
    },
  };
}

/** The rig with some doors and what feeds their drives: whether that rests is no question of what else there is. */
function aloneWith(rig: Rig, doors: readonly number[]): Rig {
  const drives = rig.drives.filter((d) => d.kind === 'door' && doors.includes(d.target));
  const feeding = new Set(drives.map((d) => d.net));
  const { elements, nets } = rig.network;
  for (let size = -1; size !== feeding.size;) {
    size = feeding.size;
    for (const e of elements) if (feeding.has(e.net)) e.inputs.forEach((i) => netsIn(i).forEach((n) => feeding.add(n)));
  }
  const kept = elements.filter((e) => feeding.has(e.net));
  const index = (net: number): number => kept.findIndex((e) => e.net === net);
  return {
    ...rig,
    drives,
    network: {
      elements: kept,
      nets: nets.map((net, n) => (net.kind === 'element' ? { ...net, index: index(n) } : net)),
    },
  };
}

const netsIn = (logic: Logic): number[] => {
  if (logic.op === 'net') return [logic.net];
  if (logic.op === 'const') return [];
  return logic.op === 'not' ? netsIn(logic.a) : [...netsIn(logic.a), ...netsIn(logic.b)];
};

function trackerOf(property: Exclude<Property, Of<'switched-off'>>, rig: Rig): Tracker {
  switch (property.kind) {
    case 'never':
      return atAnyMoment((seen) => truth(property.condition, seen));
    case 'straight-through':
      return atAnyMoment((seen) => property.doors.every(seen.notShut));
    case 'power-loss':
      return atAnyMoment((seen) => property.doors.every((d) => rig.doors[d]!.rest === 'open' || seen.notShut(d)));
    case 'trapped-pocket':
      return atAnyMoment(
        (seen) =>
          (seen.closing(property.door) || shutsAtOnce(rig, property.door, seen)) &&
          property.outlets.every((side) => side.some((d) => !seen.notShut(d))),
      );
    case 'left-open':
      return atAnyMoment(
        (seen) =>
          seen.still &&
          [...property.initialInputs].every(([net, value]) => seen.net(net) === value) &&
          seen.away(property.door),
      );
    case 'gap':
      return gapTracker(property);
    case 'order':
      return orderTracker(property);
  }
}

/** A door with no travel is never seen closing: it shuts at that instant. */
function shutsAtOnce(rig: Rig, door: number, seen: Seen): boolean {
  const shuts = seen.events.some((e) => e.door === door && e.event === 'shuts');
  return shuts && rig.doors[door]!.closesIn.max === 0;
}

function truth(c: Condition, seen: Seen): boolean {
  if (c.op === 'net') return seen.net(c.net);
  if (c.op === 'door') return seen.notShut(c.door);
  if (c.op === 'const') return c.value;
  if (c.op === 'not') return !truth(c.a, seen);
  const [a, b] = [truth(c.a, seen), truth(c.b, seen)];
  return c.op === 'and' ? a && b : c.op === 'or' ? a || b : a !== b;
}

/** Remembers how long each door has been shut, up to the least gap. */
function gapTracker({ doors, least }: Of<'gap'>): Tracker {
  return {
    start: [least, least],
    step(memory, seen) {
      const shut = doors.map((d, k) => {
        if (seen.events.some((e) => e.door === d && e.event === 'shuts')) return 0;
        return Math.min(least, memory[k]! + seen.elapsed);
      });
      const tooSoon = doors.some((d, k) => {
        const leaves = seen.events.some((e) => e.door === doors[1 - k] && e.event === 'opens');
        return leaves && !seen.notShut(d) && shut[k]! < least;
      });
      return tooSoon || doors.every(seen.notShut) ? null : shut;
    },
  };
}

function orderTracker({ events }: Of<'order'>): Tracker {
  return {
    // Its place, and whether the last event happened at this very moment.
    start: [0, 0],
    step(memory, seen) {
      let place = memory[0]!;
      let same = seen.elapsed === 0 && memory[1] === 1;
      const happened = seen.events.filter((h) => events.some((e) => e.door === h.door && e.event === h.event));
      while (happened.length > 0) {
        // Of those at one moment the one whose turn it is counts first.
        const turn = happened.findIndex((h) => h.door === events[place]!.door && h.event === events[place]!.event);
        if (turn < 0 || (same && place > 0)) return null;
        happened.splice(turn, 1);
        place = (place + 1) % events.length;
        same = true;
      }
      return [place, Number(same)];
    },
  };
}

/** Whether, with the switches thrown for good, a door is away from rest after any number of microseconds. */
function neverRests(rig: Rig, { switches }: Of<'switched-off'>, limit: number): boolean | null {
  const away = new Map<string, boolean>();
  const next = new Map<string, Set<string>>();
  const thrown = (seen: Seen): boolean => [...switches].every(([net, value]) => seen.net(net) === value);
  const states = new Map<string, boolean>();
  const steps: [string, string][] = [];
  const complete = explore(rig, [atAnyMoment(() => false)], limit, (from, to, { seen, operated }) => {
    states.set(to, thrown(seen));
    away.set(
      to,
      rig.doors.some((_, d) => seen.away(d)),
    );
    if (![...switches.keys()].some((net) => operated.has(net))) steps.push([from, to]);
  });
  if (complete[0] === null) return null;
  for (const [from, to] of steps) {
    if (!states.get(from) || !states.get(to)) continue;
    const list = next.get(from);
    if (list) list.add(to);
    else next.set(from, new Set([to]));
  }
  return [...afterAnyTime(next)].some((key) => away.get(key));
}

/** States on a cycle or reachable from one: those left when states that nothing leads to are taken away again and again. */
function afterAnyTime(next: ReadonlyMap<string, ReadonlySet<string>>): Set<string> {
  const before = new Map<string, number>();
  for (const [from, list] of next) {
    if (!before.has(from)) before.set(from, 0);
    for (const to of list) before.set(to, (before.get(to) ?? 0) + 1);
  }
  const gone = [...before].filter(([, n]) => n === 0).map(([key]) => key);
  for (let key = gone.pop(); key !== undefined; key = gone.pop()) {
    before.delete(key);
    for (const to of next.get(key) ?? []) {
      const left = before.get(to)! - 1;
      before.set(to, left);
      if (left === 0) gone.push(to);
    }
  }
  return new Set(before.keys());
}
