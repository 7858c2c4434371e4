/** One way to size a rig: what its pockets, openings, interval and feeds are multiplied by or set to, and the rig with it. */
import type { Door, Line, Quantity, Rig } from '../../model/rig';
import type { TimeLiteral } from '../literals';
import { withTime } from '../literals';

export interface SizeChoice {
  /** Pockets and what of them cannot be swept, times this. */
  readonly pocket: number;
  /** Openings of the doors, times this; passes past shut doors stay. */
  readonly opening: number;
  /** Time from stroke to stroke, µs; null: as it is, or there is none. */
  readonly interval: number | null;
  /** Every feed, times this. */
  readonly feed: number;
}

/** A time of the text that sets the interval between strokes one to one and moves no door within a stroke. */
export interface IntervalScrew {
  readonly literal: TimeLiteral;
  /** Interval as it is, µs. */
  readonly now: number;
}

const times = (quantity: Quantity, factor: number): Quantity => ({
  ...quantity,
  nominal: quantity.nominal * factor,
  min: quantity.min * factor,
  max: quantity.max * factor,
});

const maybe = (quantity: Quantity | null, factor: number): Quantity | null => quantity && times(quantity, factor);

export function rigWithChoice(rig: Rig, choice: SizeChoice, screw: IntervalScrew | null): Rig {
  const timed =
    screw && choice.interval !== null && choice.interval !== screw.now
      ? withTime(rig, screw.literal.at, screw.literal.value + choice.interval - screw.now)
      : rig;
  return {
    ...timed,
    doors: timed.doors.map((door) => sizedDoor(door, choice)),
    lines: timed.lines.map((line) => (line.kind === 'feed' ? sizedFeed(line, choice.feed) : line)),
  };
}

function sizedDoor(door: Door, { pocket, opening }: SizeChoice): Door {
  return {
    ...door,
    pocket: maybe(door.pocket, pocket),
    clearance: maybe(door.clearance, pocket),
    area: maybe(door.area, opening),
    kv: maybe(door.kv, opening),
    conductance: maybe(door.conductance, opening),
  };
}

function sizedFeed(line: Line, factor: number): Line {
  const { rate, curve } = line;
  return {
    ...line,
    rate: rate && { ...rate, value: times(rate.value, factor) },
    curve: curve && { ...curve, points: curve.points.map((p) => ({ ...p, flow: times(p.flow, factor) })) },
  };
}
