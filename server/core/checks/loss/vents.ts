/** `loss/vents`: a switch that states what it vents, and does not. */
import { endsOf, pathBetween } from '../../model/intent';
import type { Problem } from '../../model/problem';
import type { Switch, Vents } from '../../model/rig';
import type { Path } from '../../model/stages';
import { listText } from '../../timing/words';
import { type Check, type CheckContext, found } from '../check';
import { settledRig, turn } from '../repair/trial';
import { say } from '../../words/say';

export const vents: Check = {
  code: 'loss/vents',
  title: 'Switch does not vent what it states',
  severity: 'error',
  explanation:
    'A switch states `vents A, B`: thrown while the rig is at rest, it is to open every door between the two chambers. Here no stack joins them, or a door on the way stays shut. Drive each of those doors also by the switch (`drive vent = vent_on or purge`), or correct the names.',
  run: (context) =>
    context.rig.switches.flatMap((thrown) => (thrown.vents ? (problemOf(context, thrown, thrown.vents) ?? []) : [])),
};

function problemOf(context: CheckContext, thrown: Switch, stated: Vents): Problem | null {
  const { rig } = context;
  const report = (message: string): Problem => found(vents, stated.at, message, { chambers: stated.chambers });
  const path = pathBetween(rig, stated.chambers);
  const [a, b] = [rig.chambers[stated.chambers[0]]!.name, rig.chambers[stated.chambers[1]]!.name];
  if (!path) return report(say`${thrown.name} is stated to vent ${a} to ${b}, but no stack joins the two with a door.`);
  const shut = shutDoors(context, thrown, path);
  if (shut.length === 0) return null;
  const names = listText(shut.map((door) => rig.doors[door]!.name));
  const ends = endsOf(rig, path);
  return report(
    shut.length > 1
      ? say`${thrown.name} is stated to vent ${ends}, but ${names} stay shut when it is thrown.`
      : say`${thrown.name} is stated to vent ${ends}, but ${names} stays shut when it is thrown.`,
  );
}

/** Doors of the path that are not fully open once all has settled after the switch is thrown at rest. */
function shutDoors({ facts }: CheckContext, { net }: Switch, path: Path): number[] {
  const { engine } = turn(settledRig(facts), net);
  return path.doors.filter((door) => engine.doorPosition(door) < 1);
}
