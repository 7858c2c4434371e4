/**
 * The discrete part of a proof state and how it changes at one instant: nets, blocks, changes in flight, doors. Clocks are named
 * by slots; while a step is computed, `clocks` says for every running clock which clock of the state before it continues
 * (or −1: it starts now).
 *
 * Which clocks run is a function of the discrete part (running timers, changes in flight, moving doors), so states of equal keys have the same
 * clocks in the same order, and their zones can be compared entry by entry.
 */
import type { ProofNetwork, Range } from '../network';

/** A change on its way through an element's response, due this long after it set out. */
export interface Pending {
  readonly value: boolean;
  readonly due: Range;
}

export type DoorPhase = 'shut' | 'opening' | 'open' | 'closing';

export interface DoorState {
  readonly phase: DoorPhase;
  /** Moving: time from setting out to arrival. */
  readonly due: Range;
  /** Moving: how far open it was when it set out, in parts of 1. */
  readonly from: Range;
}

/** What a moment did, for observers and properties. */
export interface DoorEventAt {
  readonly door: number;
  readonly event: 'opens' | 'opened' | 'closes' | 'shuts';
}

export class Discrete {
  constructor(
    readonly nets: Uint8Array,
    /** Block output before the response. */
    readonly outputs: Uint8Array,
    /** Last seen first input (IN, CLK, CU). */
    readonly seen: Uint8Array,
    readonly counts: Int32Array,
    readonly running: Uint8Array,
    readonly queues: Pending[][],
    readonly doors: DoorState[],
    /**
     * 1 for an element whose changes came faster than its response: from then on its net may change at any moment. That allows
     * more than the rig can do, so what is proved stays proved; a counter-example through it does not count.
     */
    readonly free: Uint8Array,
    /** Positions of observers (see monitor.ts). */
    readonly marks: number[],
  ) {}

  copy(): Discrete {
    return new Discrete(
      this.nets.slice(),
      this.outputs.slice(),
      this.seen.slice(),
      this.counts.slice(),
      this.running.slice(),
      this.queues.map((q) => (q.length === 0 ? q : [...q])),
      [...this.doors],
      this.free.slice(),
      [...this.marks],
    );
  }

  /** Equal exactly where the discrete parts are equal, the nets in `hidden` (1: left out) aside. */
  key(hidden: Uint8Array | null = null): string {
    const queues = this.queues.map((q) => q.map((p) => `${p.value ? '+' : '-'}${p.due.lo}:${p.due.hi}`).join(''));
    const doors = this.doors.map((d) =>
      d.phase === 'shut' || d.phase === 'open'
        ? d.phase[0]
        : `${d.phase[0]}${d.phase[1]}${d.due.lo}:${d.due.hi}:${d.from.lo}:${d.from.hi}`,
    );
    const nets = hidden === null ? this.nets : this.nets.map((on, net) => (hidden[net] === 1 ? 0 : on));
    // Lists of digits have a fixed length in one network, the others are separated: two different states never give one text.
    return [nets.join(''), this.outputs.join(''), this.seen.join(''), this.counts.join(','), this.running.join('')]
      .concat(queues.join(';'), doors.join(';'), this.free.join(''), this.marks.join(','))
      .join('|');
  }
}

/** Fixed numbers for all clocks that can ever run, so that states with the same clocks have them in the same order. */
export interface Slots {
  timer(element: number): number;
  pending(element: number, place: number): number;
  door(door: number): number;
  input(input: number): number;
  observer(k: number): number;
}

export function slotsOf(network: ProofNetwork): Slots {
  const e = network.elements.length;
  const d = network.doors.length;
  const i = network.inputs.length;
  const places = network.inFlight;
  // In this order: timers, changes in flight, doors, then inputs and observers, which never have to fire (`searches.ts` relies on it).
  return {
    timer: (element) => element,
    pending: (element, place) => e + element * places + place,
    door: (door) => e * (1 + places) + door,
    input: (input) => e * (1 + places) + d + input,
    observer: (k) => e * (1 + places) + d + i + k,
  };
}

/** A step being computed at one instant. */
export interface Instant {
  readonly network: ProofNetwork;
  readonly slots: Slots;
  readonly state: Discrete;
  /** Slot → slot of the state before that it continues, or −1. */
  readonly clocks: Map<number, number>;
  readonly events: DoorEventAt[];
  /** Doors whose drive changed in the rounds so far. */
  readonly driven: Set<number>;
  /** Bounds of a running clock in the zone before, for doors that turn round. */
  readonly clockRange: (slot: number) => Range;
  loops: boolean;
}
