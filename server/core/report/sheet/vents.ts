/** Switches that are meant to open a whole path: what the sheet says about them, and what is seen when one is thrown. */
import { endsOf, ventsOf, type Vent } from '../../model/intent';
import type { Rig } from '../../model/rig';
import { momentsOfDoor } from '../../timing/course';
import { initialInputs } from '../../timing/engine';
import { EDGE_BUDGET, engineAtRest } from '../../timing/rest';
import { listText } from '../../timing/words';
import { formatTime } from '../../units/units';
import type { PageSteps } from '../page/page';
import { say } from '../../words/say';

/** How long a thrown vent is followed, µs. */
const REACH = 600_000_000;

const doorsOf = (rig: Rig, vent: Vent): string => listText(vent.path.doors.map((d) => rig.doors[d]!.name));

const doorsTogether = (rig: Rig, vent: Vent): string =>
  vent.path.doors.length === 1 ? say`the door ${doorsOf(rig, vent)}` : say`the doors ${doorsOf(rig, vent)} together`;

/** `by hand`, and what a vent is meant to open. */
export function switchWords(rig: Rig, name: string): string {
  const vent = ventsOf(rig).find((v) => rig.switches[v.switch]!.name === name);
  if (!vent) return say`by hand`;
  return say`by hand; a vent: turned ${vent.thrown ? 'on' : 'off'}, it is meant to open the whole path ${endsOf(rig, vent.path)} (${doorsOf(rig, vent)})`;
}

/** One sentence for each vent. */
export function ventSentences(rig: Rig): string[] {
  return ventsOf(rig).map(
    (vent) =>
      say`The switch ${rig.switches[vent.switch]!.name} is a vent: turned ${vent.thrown ? 'on' : 'off'}, it is meant to open the whole path ${endsOf(rig, vent.path)}, ${doorsTogether(rig, vent)}.`,
  );
}

/** Throw each vent at rest; when all its doors are open is the event engine's time. */
export function ventSteps(rig: Rig): PageSteps['items'] {
  return ventsOf(rig).flatMap((vent) => {
    const { name } = rig.switches[vent.switch]!;
    const [to, back] = vent.thrown ? ['on', 'off'] : ['off', 'on'];
    const open = openFrom(rig, vent);
    const isOne = vent.path.doors.length === 1;
    const seen =
      open === null
        ? isOne
          ? say`${doorsOf(rig, vent)} does not open: mend this before anything else`
          : say`${doorsOf(rig, vent)} do not all open: mend this before anything else`
        : isOne
          ? say`${doorsOf(rig, vent)} is fully open at ${formatTime(open)}`
          : say`${doorsOf(rig, vent)} are all fully open at ${formatTime(open)}`;
    return [
      {
        todo: say`With the medium shut off, the rig at rest and people clear of both ends, turn ${name} ${to} and start the clock.`,
        see: seen,
      },
      { todo: say`Turn ${name} ${back} again.`, see: say`every door goes back to where it stood` },
    ];
  });
}

/** When the last door of the path is fully open after the switch is thrown at rest, µs; null where not all do. */
function openFrom(rig: Rig, vent: Vent): number | null {
  const engine = engineAtRest(rig, initialInputs(rig), EDGE_BUDGET);
  engine.setInput(vent.net, vent.thrown, 0);
  engine.advanceTo(REACH);
  const { doors } = engine.trace();
  const moments = vent.path.doors.map((door) => {
    if (engine.doorPosition(door) < 1) return null;
    return momentsOfDoor(doors[door]!, 'opened').filter((t) => t >= 0)[0] ?? 0;
  });
  return moments.some((t) => t === null) ? null : Math.max(...(moments as number[]));
}
