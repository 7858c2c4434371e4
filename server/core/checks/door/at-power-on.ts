/** `door/at-power-on`: a door that an edge block moves as power comes, although nothing has changed. */
import type { Problem } from '../../model/problem';
import type { Rig } from '../../model/rig';
import { chainOf } from '../../timing/causes';
import type { Trace } from '../../timing/trace';
import { formatTime } from '../../units/units';
import { type Check, found } from '../check';

export const atPowerOn: Check = {
  code: 'door/at-power-on',
  title: 'Door moved by an edge block at power-on',
  severity: 'warning',
  explanation:
    'By IEC 61131-3 an edge block compares its input with the one it saw last, and before its first execution that counts as off (`F_TRIG`: as on). So `F_TRIG` gives one pulse when power comes while its input is off, and `R_TRIG` while its input is on, though nothing fell or rose. Here that pulse moves a door, at every power-on. Take the edge from something that is not yet so at power-on, or hold the pulse back with a signal that comes a little later.',
  run({ rig, facts: { timing } }) {
    const seen = new Set<number>();
    return timing.atRest.trace.doors.flatMap((track, door) =>
      track.moves.flatMap((move) => {
        const net = firstPulse(rig, timing.atRest.trace, move.cause);
        if (net === null || seen.has(door)) return [];
        seen.add(door);
        return [problemOf(rig, door, net, move.t, move.to)];
      }),
    );
  },
};

/** The net of the edge block whose first pulse begins a chain of causes; null where none does. */
function firstPulse(rig: Rig, trace: Trace, cause: number): number | null {
  const [first] = chainOf(trace.edges, cause);
  const edge = first === undefined ? undefined : trace.edges[first];
  const net = edge && rig.network.nets[edge.net];
  if (!edge || net?.kind !== 'element') return null;
  return /_TRIG$/.test(rig.network.elements[net.index]!.kind) ? edge.net : null;
}

function problemOf(rig: Rig, door: number, net: number, t: number, to: 0 | 1): Problem {
  const { kind, at, name } = rig.network.elements[rig.network.nets[net]!.index]!;
  const edge = kind === 'F_TRIG' ? 'nothing fell' : 'nothing rose';
  return found(
    atPowerOn,
    at,
    `${rig.doors[door]!.name} ${to === 1 ? 'opens' : 'closes'} ${formatTime(t)} after power-on: ${kind} gives a pulse at its first execution, though ${edge}.`,
    { doors: [door] },
    { related: [{ at: rig.doors[door]!.at, message: `${rig.doors[door]!.name} is moved by ${name}.` }] },
  );
}
