/** `door/never-opens`: a driven door that no stroke and no input opens. */
import { pulsesOf, strokeCourses } from '../../timing/course';
import type { Problem } from '../../model/problem';
import type { RigFacts } from '../../run/facts';
import { type Check, type CheckContext, found } from '../check';
import { decidingNets, driveOf, inputsOfRig, isSequenced } from '../../model/logic';
import { settledRig, turn } from '../repair/trial';
import { say } from '../../words/say';

export const neverOpens: Check = {
  code: 'door/never-opens',
  title: 'Door that never opens',
  severity: 'warning',
  explanation:
    'The door has a drive, but it does not leave its seat in any stroke, nor at rest, nor when any one switch or sensor that its drive depends on is turned, nor any two of them one after the other. A switch may also be thrown back. Where it leaves its seat only when a sensor turns and turns back, the message says that it opens in no stroke. Usually a timer on the way never runs out (see `timer/never-fires`) or a polarity is wrong.',
  run(context) {
    const { rig, facts } = context;
    if (facts.timing.atRest.loop || facts.timing.incomplete !== null) return [];
    const opened = new Set(
      strokeCourses(facts).flatMap((c) => c.openings.flatMap((list, door) => (list.length > 0 ? [door] : []))),
    );
    return rig.doors.flatMap((_, door) => {
      const isDriven = driveOf(rig, door) !== undefined || isSequenced(rig, door);
      if (!isDriven || opened.has(door)) return [];
      const opens = opensInTrial(facts, door);
      return opens === 'by inputs' ? [] : [problemOf(context, door, opens)];
    });
  },
};

/** The most inputs of which pairs are tried. */
const MOST = 8;

/**
 * What opens a door that opens in no stroke: rest, one input turned, two in any order, or a switch thrown and thrown back (`by inputs`);
 * only a sensor that turns and turns back, in whatever it comes across then (`there and back`); or nothing tried (`never`).
 */
type Opens = 'by inputs' | 'there and back' | 'never';

function opensInTrial(facts: RigFacts, door: number): Opens {
  const { rig } = facts;
  const deciding = decidingNets(rig, door);
  const inputs = inputsOfRig(rig)
    .filter((input) => deciding.has(input.net))
    .slice(0, MOST);
  const rest = settledRig(facts);
  const everOpen = (): boolean =>
    rest.engine.moves.some((m) => m.door === door && m.to === 1) || rest.engine.doorPosition(door) > 0;
  if (everOpen() || rest.engine.stopped) return 'by inputs';
  const start = rest.engine.snapshot();
  let opens: Opens = 'never';
  for (const first of inputs) {
    for (const second of [null, ...inputs]) {
      rest.engine.restore(start);
      const trial = turn(rest, first.net);
      if (second) turn(trial, second.net);
      if (!everOpen() && !rest.engine.stopped) continue;
      if (second !== first || rig.network.nets[first.net]!.kind === 'switch') return 'by inputs';
      opens = 'there and back';
    }
  }
  return opens;
}

function problemOf({ rig, facts }: CheckContext, door: number, opens: Opens): Problem {
  const { name } = rig.doors[door]!;
  const drive = driveOf(rig, door);
  const net = drive ? rig.network.nets[drive.net] : undefined;
  const comesOn = drive && facts.timing.strokes.some((s) => pulsesOf(s.trace, drive.net).length > 0);
  const why = !net
    ? say`its sequence never starts`
    : comesOn
      ? say`${net.name} comes on for 0 s only`
      : say`${net.name} never comes on`;
  return found(
    neverOpens,
    drive?.at ?? rig.doors[door]!.at,
    opens === 'never'
      ? say`${name} never opens: ${why}.`
      : say`${name} opens in no stroke: ${why} while the trigger holds.`,
    { doors: [door] },
  );
}
