/**
 * `door/at-power-on`: a door that moves as power comes, although nothing has changed: by the first pulse of an edge block, or by a timer
 * that waits for something to be off. A door that an input opens which is on at power-on only does what the input says.
 */
import { driveOf, inputsOfRig } from '../../model/logic';
import type { Problem } from '../../model/problem';
import type { Rig } from '../../model/rig';
import { chainOf } from '../../timing/causes';
import type { Trace } from '../../timing/trace';
import { formatTime } from '../../units/units';
import type { RigFacts } from '../../run/facts';
import { type Check, found } from '../check';
import { settledRig } from '../repair/trial';
import { say } from '../../words/say';

export const atPowerOn: Check = {
  code: 'door/at-power-on',
  title: 'Door that moves at power-on',
  severity: 'warning',
  explanation:
    'By IEC 61131-3 an edge block compares its input with the one it saw last, and before its first execution that counts as off (`F_TRIG`: as on). So `F_TRIG` gives one pulse when power comes while its input is off, and `R_TRIG` while its input is on, though nothing fell or rose. Here that pulse moves a door, at every power-on. Take the edge from something that is not yet so at power-on, or hold the pulse back with a signal that comes a little later. A door is named as well that opens and shuts again as power comes, with all switches and sensors off too: usually an on-delay waits for something to be off, which it is at power-on. Whoever gives power back does not expect it.',
  run({ rig, facts }) {
    const { timing } = facts;
    const seen = new Set<number>();
    const byEdges = timing.atRest.trace.doors.flatMap((track, door) =>
      track.moves.flatMap((move) => {
        const net = firstPulse(rig, timing.atRest.trace, move.cause);
        if (net === null || seen.has(door)) return [];
        seen.add(door);
        return [problemOf(rig, door, net, move.t, move.to)];
      }),
    );
    const others = movedByPower(facts).filter((door) => !seen.has(door));
    return [...byEdges, ...others.map((door) => byPowerProblem(facts, door))];
  },
};

/**
 * Doors that open as power comes and are shut when the rig is at rest, also with every input off. What turns round on its way is what
 * elements do while they answer for the first time.
 */
function movedByPower(facts: RigFacts): number[] {
  const { rig, timing } = facts;
  const { trace, moves, loop } = timing.atRest;
  if (moves || loop || timing.incomplete !== null) return [];
  const passing = trace.doors.flatMap(({ initial, moves: list }, door) =>
    list.length > 1 && list[0]!.to === 1 && list[1]!.t >= list[0]!.arrives && list.at(-1)!.to === initial ? [door] : [],
  );
  if (passing.length === 0) return [];
  const on = inputsOfRig(rig).filter(({ net }) => trace.initial[net]);
  const { engine } = settledRig(
    facts,
    on.map(({ net }) => net),
  );
  const moved = new Set(engine.moves.filter((move) => move.to === 1).map((move) => move.door));
  return passing.filter((door) => moved.has(door));
}

function byPowerProblem({ rig, timing }: RigFacts, door: number): Problem {
  const { name, at } = rig.doors[door]!;
  const drive = driveOf(rig, door);
  const { t } = timing.atRest.trace.doors[door]!.moves[0]!;
  const by = drive ? say`: ${rig.network.nets[drive.net]!.name} comes on by itself` : '';
  const message = say`${name} opens ${formatTime(t)} after power-on and shuts again, with all switches and sensors off too${by}.`;
  return found(atPowerOn, drive?.at ?? at, message, { doors: [door] });
}

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
  const edge = kind === 'F_TRIG' ? say`nothing fell` : say`nothing rose`;
  const moved = rig.doors[door]!.name;
  return found(
    atPowerOn,
    at,
    to === 1
      ? say`${moved} opens ${formatTime(t)} after power-on: ${kind} gives a pulse at its first execution, though ${edge}.`
      : say`${moved} closes ${formatTime(t)} after power-on: ${kind} gives a pulse at its first execution, though ${edge}.`,
    { doors: [door] },
    { related: [{ at: rig.doors[door]!.at, message: say`${moved} is moved by ${name}.` }] },
  );
}
