/** What a manual switch does, for rigs that no sensor starts: each switch thrown alone from rest, and followed until all is quiet. */
import type { Rig, Scenario, Switch } from '../model/rig';
import { traceScenario } from '../timing/scenario';
import type { Trace } from '../timing/trace';

export interface SwitchRun {
  /** `from_yard on` */
  readonly name: string;
  /** Ends a little after the last change. */
  readonly trace: Trace;
}

/** Longest time that is followed, microseconds. */
const LONGEST = 600_000_000;

/** One run for each switch that moves a door when it is thrown. */
export function switchRuns(rig: Rig): SwitchRun[] {
  return rig.switches.flatMap((item, index) => {
    const trace = traceScenario(rig, thrown(item, index), horizonOf(rig));
    if (!trace.doors.some((door) => door.moves.length > 0)) return [];
    return [{ name: `${item.name} ${item.initial ? 'off' : 'on'}`, trace: cutShort(trace) }];
  });
}

function thrown(item: Switch, index: number): Scenario {
  const at = { nominal: 0, min: 0, max: 0, at: item.at };
  const step = { at, action: 'switch' as const, target: index, on: !item.initial, source: item.at };
  return { name: item.name, at: item.at, whole: item.whole, doc: '', steps: [step], duration: null };
}

/** Twice all presets, responses and travels one after the other: enough for anything that does not start again by itself. */
function horizonOf(rig: Rig): number {
  const presets = rig.network.elements.map((e) => (e.preset?.nominal ?? 0) + e.response.nominal);
  const travels = rig.doors.map((d) => d.opensIn.nominal + d.closesIn.nominal);
  const sum = [...presets, ...travels].reduce((a, b) => a + b, 0);
  return Math.min(LONGEST, 2 * sum + rig.controller.time.nominal * 10 + 1_000_000);
}

function cutShort(trace: Trace): Trace {
  const last = Math.max(
    0,
    ...trace.edges.map((e) => e.t),
    ...trace.doors.flatMap((d) => d.moves.map((m) => m.arrives)),
  );
  return { ...trace, end: Math.min(trace.end, Math.round(last * 1.06) + 1_000) };
}
