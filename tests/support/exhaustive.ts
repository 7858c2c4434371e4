/**
 * Independent exhaustive exploration of a rig with exact small times: at every microsecond every input is left or
 * turned, and the event engine goes one microsecond on. Shares no code with the proof engine.
 */
import type { Rig } from '../../server/core/model/rig';
import { createEngine, initialInputs, type Engine } from '../../server/core/timing/engine';

export interface DoorEventSeen {
  readonly door: number;
  readonly event: 'opens' | 'opened' | 'closes' | 'shuts';
}

/** What stands just after a moment, and what happened at it. */
export interface Seen {
  notShut(door: number): boolean;
  closing(door: number): boolean;
  away(door: number): boolean;
  net(net: number): boolean;
  readonly events: readonly DoorEventSeen[];
  /** Microseconds since what was seen before. */
  readonly elapsed: 0 | 1;
  /** Nothing more will happen by itself. */
  readonly still: boolean;
}

/** Looks for one property. `memory` is what it remembers, a few small numbers; null: broken. */
export interface Tracker {
  readonly start: readonly number[];
  step(memory: readonly number[], seen: Seen): readonly number[] | null;
}

/** A tracker of something that can be seen at a glance. */
export const atAnyMoment = (broken: (seen: Seen) => boolean): Tracker => ({
  start: [],
  step: (memory, seen) => (broken(seen) ? null : memory),
});

interface Input {
  readonly net: number;
  readonly minOn: number;
  readonly minOff: number;
}

interface State {
  readonly engine: ReturnType<Engine['snapshot']>;
  /** Microseconds since each input turned, no further than its least times. */
  readonly held: readonly number[];
  readonly memories: readonly (readonly number[] | null)[];
  /** Equal keys, equal future: the words of the engine name nets, doors and everything under way. */
  readonly key: string;
  /** How the doors stood before this moment, where operations still belong to it. */
  readonly doorsBefore?: readonly DoorNow[];
}

export interface Next extends State {
  readonly seen: Seen;
  /** Nets of the inputs that turned. */
  readonly operated: ReadonlySet<number>;
}

/**
 * For each tracker whether it is ever broken; null where more than `limit` states were met before that was known. `edge` is told of
 * every step between two states, by their keys, and of the inputs that turned.
 */
export function explore(
  rig: Rig,
  trackers: readonly Tracker[],
  limit: number,
  edge: (from: string, to: string, next: Next) => void = () => undefined,
): (boolean | null)[] {
  const walk = new Walk(rig);
  const first = walk.start(trackers);
  const broken = first.memories.map((m) => m === null);
  const met = new Set([first.key]);
  const open: { readonly state: State; readonly delay: 0 | 1 }[] = [{ state: first, delay: 1 }];
  // Operations at the moment of power-on, once all has settled; in scan style they wait for the next scan.
  if (rig.controller.style === 'response') open.push({ state: walk.beforeFirst(first, trackers), delay: 0 });
  for (let item = open.pop(); item; item = open.pop()) {
    for (let choice = 0; choice < walk.choices; choice++) {
      const next = walk.step(item.state, choice, item.delay, trackers);
      if (!next) continue;
      next.memories.forEach((m, k) => (broken[k] ||= m === null));
      edge(item.state.key, next.key, next);
      if (met.has(next.key)) continue;
      met.add(next.key);
      if (met.size > limit || broken.every((b) => b)) return broken.map((b) => b || null);
      open.push({ state: next, delay: 1 });
    }
  }
  return broken;
}

class Walk {
  readonly choices: number;
  private readonly engine: Engine;
  private readonly inputs: Input[];

  constructor(private readonly rig: Rig) {
    this.inputs = [...rig.switches, ...rig.sensors].map((input) => ({
      net: input.net,
      minOn: input.minOn?.min ?? 0,
      minOff: input.minOff?.min ?? 0,
    }));
    this.choices = 2 ** this.inputs.length;
    this.engine = createEngine(rig, { inputs: initialInputs(rig), budget: 1_000_000_000 });
  }

  start(trackers: readonly Tracker[]): State {
    const { engine } = this;
    engine.advanceTo(0);
    const seen = this.look(eventsSince(engine, this.resting()), 1);
    const held = this.inputs.map((input) => Math.max(input.minOn, input.minOff));
    return this.state(
      held,
      trackers.map((t) => t.step(t.start, seen)),
    );
  }

  /** The moment of power-on with nothing seen of it: operations may come at it, and a door that turns back at once has not moved. */
  beforeFirst(first: State, trackers: readonly Tracker[]): State {
    return { ...first, memories: trackers.map((t) => t.start), doorsBefore: this.resting() };
  }

  private resting(): DoorNow[] {
    return this.rig.doors.map((d) => ({ open: d.rest === 'open', moving: false, arrives: 0 }));
  }

  private state(held: readonly number[], memories: State['memories']): State {
    const { engine } = this;
    const key = `${engine.key()}|${held.join()}|${memories.map((m) => m?.join() ?? 'x').join(';')}`;
    return { engine: engine.snapshot(), held, memories, key };
  }

  /** Bit k of `choice`: input k turns. Null where its least times forbid that. */
  step(state: State, choice: number, delay: 0 | 1, trackers: readonly Tracker[]): Next | null {
    const { engine } = this;
    engine.restore(state.engine);
    const before = state.doorsBefore ?? doorsNow(engine, this.rig);
    const held = [...state.held];
    const operated = new Set<number>();
    for (let k = 0; k < this.inputs.length; k++) {
      const { net, minOn, minOff } = this.inputs[k]!;
      const on = engine.values[net] === 1;
      const slow = Math.max(minOn, minOff);
      held[k] = Math.min(slow, held[k]! + delay);
      if (((choice >> k) & 1) === 0) continue;
      if (slow > 0 && held[k]! < (on ? minOn : minOff)) return null;
      engine.setInput(net, !on, engine.now + delay);
      held[k] = 0;
      operated.add(net);
    }
    engine.advanceTo(engine.now + delay);
    const seen = this.look(eventsSince(engine, before), delay);
    const memories = state.memories.map((m, k) => (m === null ? null : trackers[k]!.step(m, seen)));
    return { ...this.state(held, memories), seen, operated };
  }

  private look(events: readonly DoorEventSeen[], elapsed: 0 | 1): Seen {
    const { engine, rig } = this;
    const doors = doorsNow(engine, rig);
    const values = engine.values.slice();
    // Shut by a drive that is off; without any drive where it rests.
    const standsOpenIdle = (d: number): boolean =>
      rig.doors[d]!.rest === 'open' && !rig.drives.some((x) => x.kind === 'door' && x.target === d);
    return {
      notShut: (d) => doors[d]!.open || doors[d]!.moving,
      closing: (d) => !doors[d]!.open && doors[d]!.moving,
      away: (d) => doors[d]!.moving || doors[d]!.open !== standsOpenIdle(d),
      net: (net) => values[net] === 1,
      events,
      elapsed,
      still: engine.nextTime() === Infinity && doors.every((d) => !d.moving),
    };
  }
}

interface DoorNow {
  /** Where it is going, or stands. */
  readonly open: boolean;
  readonly moving: boolean;
  readonly arrives: number;
}

function doorsNow(engine: Engine, rig: Rig): DoorNow[] {
  const { doors } = engine.snapshot();
  return rig.doors.map((_, d) => {
    const arrives = engine.doorArrives(d);
    return { open: doors.target[d] === 1, moving: arrives > engine.now, arrives };
  });
}

/** Door events at the engine's present microsecond, the one after `before`. */
function eventsSince(engine: Engine, before: readonly DoorNow[]): DoorEventSeen[] {
  const { doors } = engine.snapshot();
  return before.flatMap((old, door): DoorEventSeen[] => {
    const events: DoorEventSeen[] = [];
    const arrived = old.moving && old.arrives <= engine.now;
    if (arrived) events.push({ door, event: old.open ? 'opened' : 'shuts' });
    const open = doors.target[door] === 1;
    if (open === old.open) return events;
    if (!old.moving || arrived) events.push({ door, event: open ? 'opens' : 'closes' });
    if (engine.doorArrives(door) <= engine.now) events.push({ door, event: open ? 'opened' : 'shuts' });
    return events;
  });
}
