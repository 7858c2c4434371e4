/**
 * A trace as named two-valued lanes: what the exports write. Inner elements of a signal have no name of their own and are left out.
 * A door has three positions that matter (shut, on its way, fully open) and readers of such files know two values, so it takes two lanes.
 */
import type { Rig } from '../model/rig';
import type { Trace } from './trace';
import { openStretches } from './windows';

/** A lane of the export: a switch, sensor or signal by its name, a door by its name (not shut) and as `NAME.fully_open`. */
export interface ExportLane {
  readonly name: string;
  readonly initial: boolean;
}

/** One change of one lane; `lane` is an index into the lanes. */
export interface LaneChange {
  readonly t: number;
  readonly lane: number;
  readonly value: boolean;
}

export interface LaneTrace {
  readonly lanes: readonly ExportLane[];
  /** In order of time; at one time, nets in order of happening before doors in order of declaration. */
  readonly changes: readonly LaneChange[];
}

/**
 * The lanes of a trace in parts that follow each other in time. A door that is off its seat where a part begins is entered as such by
 * that part too: what a lane is already is left out.
 */
export function* lanesOfParts(
  rig: Rig,
  parts: Iterable<Trace>,
): Generator<LaneTrace & { readonly trace: Trace }, void, void> {
  let values: boolean[] | null = null;
  for (const trace of parts) {
    const { lanes, changes } = laneTrace(rig, trace);
    const now: boolean[] = (values ??= lanes.map((lane) => lane.initial));
    const fresh = changes.filter(({ lane, value }) => {
      const changed = now[lane] !== value;
      now[lane] = value;
      return changed;
    });
    yield { lanes, changes: fresh, trace };
  }
}

/** Brings a trace into lanes. */
export function laneTrace(rig: Rig, trace: Trace): LaneTrace {
  const lanes: ExportLane[] = [];
  const changes: LaneChange[] = [];
  const laneOfNet = new Map<number, number>();
  for (const { name, net } of [...rig.switches, ...rig.sensors, ...rig.signals]) {
    // A signal that is another name of an input shares its net; the first name stands for it.
    if (net < 0 || laneOfNet.has(net)) continue;
    laneOfNet.set(net, lanes.length);
    lanes.push({ name, initial: trace.initial[net] ?? false });
  }
  for (const edge of trace.edges) {
    const lane = laneOfNet.get(edge.net);
    if (lane !== undefined && edge.t <= trace.end) changes.push({ t: edge.t, lane, value: edge.value });
  }
  rig.doors.forEach((door, index) => addDoor(lanes, changes, door.name, trace, index));
  // The sort is stable, so what was entered first stays first at equal times.
  return { lanes, changes: changes.sort((a, b) => a.t - b.t) };
}

function addDoor(lanes: ExportLane[], changes: LaneChange[], name: string, trace: Trace, door: number): void {
  const track = trace.doors[door]!;
  const stretches = openStretches(track, trace.start, trace.end);
  const views = [
    { name, initial: track.initial > 0, spans: stretches.map((s) => s.notShut) },
    { name: `${name}.fully_open`, initial: track.initial === 1, spans: stretches.flatMap((s) => s.fullyOpen) },
  ];
  for (const { name: lane, initial, spans } of views) {
    const index = lanes.push({ name: lane, initial }) - 1;
    spans.forEach((span, i) => {
      // What is so already at the start is its initial value, not a change.
      if (!(i === 0 && initial && span.from === trace.start)) changes.push({ t: span.from, lane: index, value: true });
      if (span.to !== null && span.to <= trace.end) changes.push({ t: span.to, lane: index, value: false });
    });
  }
}
