/** `door/never-opens`: a driven door that no stroke and no input opens. */
import { pulsesOf, strokeCourses } from '../../timing/course';
import type { Problem } from '../../model/problem';
import type { RigFacts } from '../../run/facts';
import { type Check, type CheckContext, found } from '../check';
import { decidingNets, driveOf, inputsOfRig, isSequenced } from '../../model/logic';
import { settledRig, turn } from '../repair/trial';

export const neverOpens: Check = {
  code: 'door/never-opens',
  title: 'Door that never opens',
  severity: 'warning',
  explanation:
    'The door has a drive, but it does not leave its seat in any stroke, nor at rest, nor when any one switch or sensor that its drive depends on is turned, or turned and turned back, nor any two of them one after the other. Usually a timer on the way never runs out (see `timer/never-fires`) or a polarity is wrong.',
  run(context) {
    const { rig, facts } = context;
    if (facts.timing.atRest.loop || facts.timing.incomplete !== null) return [];
    const opened = new Set(
      strokeCourses(facts).flatMap((c) => c.openings.flatMap((list, door) => (list.length > 0 ? [door] : []))),
    );
    return rig.doors.flatMap((_, door) => {
      const isDriven = driveOf(rig, door) !== undefined || isSequenced(rig, door);
      return isDriven && !opened.has(door) && !opensInTrial(facts, door) ? [problemOf(context, door)] : [];
    });
  },
};

/** The most inputs of which pairs are tried. */
const MOST = 8;

/** Whether the door leaves its seat at rest, or after one input, or two in any order, are turned. */
function opensInTrial(facts: RigFacts, door: number): boolean {
  const { rig } = facts;
  const deciding = decidingNets(rig, door);
  const inputs = inputsOfRig(rig)
    .filter((input) => deciding.has(input.net))
    .slice(0, MOST);
  const rest = settledRig(facts);
  const everOpen = (): boolean =>
    rest.engine.moves.some((m) => m.door === door && m.to === 1) || rest.engine.doorPosition(door) > 0;
  if (everOpen() || rest.engine.stopped) return true;
  const start = rest.engine.snapshot();
  for (const first of inputs) {
    // The same once more: what waits for its input to go off again (a timer and its own input, inverted).
    for (const second of [null, ...inputs]) {
      rest.engine.restore(start);
      const trial = turn(rest, first.net);
      if (second) turn(trial, second.net);
      if (everOpen() || rest.engine.stopped) return true;
    }
  }
  return false;
}

function problemOf({ rig, facts }: CheckContext, door: number): Problem {
  const { name } = rig.doors[door]!;
  const drive = driveOf(rig, door);
  const net = drive ? rig.network.nets[drive.net] : undefined;
  const comesOn = drive && facts.timing.strokes.some((s) => pulsesOf(s.trace, drive.net).length > 0);
  const why = !net
    ? 'its sequence never starts'
    : comesOn
      ? `${net.name} comes on for no time at all`
      : `${net.name} never comes on`;
  return found(neverOpens, drive?.at ?? rig.doors[door]!.at, `${name} never opens: ${why}.`);
}
