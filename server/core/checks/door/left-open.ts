/** `door/left-open`: a door that stands open while nothing asks for it. */
import { inverse } from '../../../../grammar/src/rewrite';
import type { Fix, Problem } from '../../model/problem';
import type { RigFacts } from '../../run/facts';
import type { StrokeFacts } from '../../timing/facts';
import { type Check, type CheckContext, found } from '../check';
import { expressionOf, requireFix, setProperty } from '../repair/edits';
import { isMeantToStandOpen } from '../../model/intent';
import { driveOf, inputsOfRig } from '../../model/logic';
import { heldByInputs } from '../../timing/held';
import { openDoors, restBefore, turn } from '../repair/trial';
import { say } from '../../words/say';

export const leftOpen: Check = {
  code: 'door/left-open',
  asksIntent: true,
  title: 'Door left open',
  severity: 'warning',
  explanation:
    'A door whose rest position is closed stands open while the rig waits for its trigger, and no sensor holds it open (one that does would leave it shut when it is the other way round), nor do switches alone (a door that only switches decide about, and that is shut with all of them off, stands as they are set); or it is still open after the trigger has come and gone and every other switch and sensor has been turned and turned back. If it is meant to stand open, say so with `require stands_open(DOOR)`, or with `rest open` if it should also stand open without power.',
  run(context) {
    const { rig, facts } = context;
    const { atRest, strokes } = facts.timing;
    const isMeant = (door: number): boolean => isMeantToStandOpen(rig, door);
    const start = (net: number): boolean => atRest.trace.initial[net] ?? false;
    const isHeld = heldByInputs(rig, start);
    const idle = atRest.openDoors.filter((door) => !isMeant(door) && !isHeld(door));
    const stuck = new Set(strokes.flatMap((stroke) => stuckAfter(facts, stroke)));
    return [
      ...idle.map((door) => idleProblem(context, door)),
      ...[...stuck].filter((d) => !idle.includes(d) && !isMeant(d)).map((door) => stuckProblem(context, door)),
    ];
  },
};

function idleProblem(context: CheckContext, door: number): Problem {
  const { name } = context.rig.doors[door]!;
  const drive = driveOf(context.rig, door);
  const net = drive ? context.rig.network.nets[drive.net]!.name : say`its drive`;
  // A rig in which other doors go on moving waits for nothing.
  const message = context.facts.timing.atRest.moves
    ? say`${name} stands open for good from power-on: ${net} stays on.`
    : say`${name} stands open while the rig waits for its trigger: ${net} is on at rest.`;
  return found(
    leftOpen,
    drive?.at ?? context.rig.doors[door]!.at,
    message,
    { doors: [door] },
    { fixes: fixesOf(context, door) },
  );
}

function fixesOf(context: CheckContext, door: number): Fix[] {
  const { rig } = context;
  const { name, whole } = rig.doors[door]!;
  const drive = driveOf(rig, door);
  const expression = drive && expressionOf(context, drive.whole);
  const invert = expression
    ? [{ title: say`Invert the drive of ${name}`, edits: [{ at: expression.at, text: inverse(expression.text) }] }]
    : [];
  const meant = requireFix(context, say`State that ${name} is meant to stand open`, `stands_open(${name})`);
  const rest = setProperty(context, whole, 'rest', 'open');
  return [
    ...meant,
    ...invert,
    ...(rest ? [{ title: say`Let ${name} rest open, also without power`, edits: [rest] }] : []),
  ];
}

/** Doors that were shut before the trigger, and never close once it has come and gone, whatever is turned and turned back. */
function stuckAfter(facts: RigFacts, stroke: StrokeFacts): number[] {
  const { rig } = facts;
  let trial = restBefore(facts, stroke);
  const before = new Set(openDoors(rig, trial));
  const trigger = stroke.trigger.net;
  trial = turn(turn(trial, trigger), trigger);
  if (!trial.quiet) return [];
  const open = openDoors(rig, trial).filter((door) => !before.has(door));
  const since = trial.engine.moves.length;
  if (open.length === 0) return [];
  for (const { net } of inputsOfRig(rig)) trial = turn(turn(trial, net), net);
  if (trial.engine.stopped) return [];
  const shut = new Set(trial.engine.moves.slice(since).flatMap((m) => (m.to === 0 ? [m.door] : [])));
  return open.filter((door) => !shut.has(door));
}

function stuckProblem({ rig }: CheckContext, door: number): Problem {
  const { name, at } = rig.doors[door]!;
  const message = say`${name} stays open for good once a stroke has opened it: no switch or sensor shuts it again.`;
  return found(leftOpen, driveOf(rig, door)?.at ?? at, message, { doors: [door] });
}
