/** `loss/switch`: what stands open when a manual switch is thrown at a bad moment. */
import { asOperand } from '../../../../grammar/src/rewrite';
import { prepare } from '../../work/work';
import { listText } from '../../timing/words';
import type { Fix, Problem } from '../../model/problem';
import type { Behaviour } from '../../timing/facts';
import { formatTime } from '../../units/units';
import { type Check, type CheckContext, found } from '../check';
import { expressionOf, setProperty } from '../repair/edits';
import { driveOf } from '../../model/logic';
import { endsOf, pathsToKeepShut } from '../../model/intent';
import type { Path } from '../../model/stages';
import { isSamePath, pathsOpen } from '../straight';
import { openDoors, restBefore, settledRig, turn } from '../repair/trial';
import { say } from '../../words/say';

export const switchLoss: Check = {
  code: 'loss/switch',
  asksIntent: true,
  title: 'Left open by a switch',
  severity: 'warning',
  explanation:
    'A manual switch, thrown at some moment of a stroke, leaves a door open that it does not open when the rig is at rest, and that is shut at the end of a stroke otherwise (typically a latch or a timer that the switch cuts off from what ends it); or it opens a path straight through that the stroke itself does not (an error): where that is what the switch is for, state it: `switch purge = off { vents header, store }`. The message names the worst of the moments tried. Let the switch take the drive away as well.',
  *prepare({ rig, facts }) {
    if (rig.switches.length > 0) yield* prepare(facts.timing, 'behaviours');
  },
  run(context) {
    // Trying the situations costs more than all the rest; a rig without switches is spared it.
    if (context.rig.switches.length === 0) return [];
    return context.facts.timing.behaviours
      .filter((b) => b.situation === 'switch')
      .flatMap((b) => [...throughProblems(context, b), ...(b.at === null ? [] : openProblems(context, b))]);
  },
};

function throughProblems(context: CheckContext, b: Behaviour): Problem[] {
  const { rig, facts } = context;
  const already = pathsOpen(facts);
  return pathsToKeepShut(rig).flatMap((path) => {
    const open = b.straightThrough.find((s) => isSamePath(s.path, path))?.interval;
    if (!open || already.some((p) => isSamePath(p.path, path))) return [];
    const names = listText(path.doors.map((d) => rig.doors[d]!.name));
    const length = open.to === null ? say`for good` : say`for ${formatTime(open.to - open.from)}`;
    const when = b.at === null ? say`while the rig waits` : momentText(b.at);
    const message = say`When ${b.input} is thrown ${when}, ${names} are off their seats together ${length}: a path straight through from ${endsOf(rig, path)}.`;
    const fixes = ventFix(context, b.input, path);
    return [found(switchLoss, placeOf(rig, b.input), message, { doors: path.doors }, { severity: 'error', fixes })];
  });
}

/** States the path as meant, where throwing the switch at rest opens all of it. */
function ventFix(context: CheckContext, name: string, path: Path): Fix[] {
  const { rig, facts } = context;
  const thrown = rig.switches.find((s) => s.name === name);
  const [from, to] = [rig.chambers[path.upstream]?.name, rig.chambers[path.downstream]?.name];
  if (!thrown || thrown.vents || from === undefined || to === undefined) return [];
  const open = openDoors(rig, turn(settledRig(facts), thrown.net));
  if (!path.doors.every((door) => open.includes(door))) return [];
  // Inside a placed part the names are others.
  const edit = name.includes('.') ? null : setProperty(context, thrown.whole, 'vents', `${from}, ${to}`);
  return edit ? [{ title: say`State that ${name} vents ${from} to ${to}`, edits: [edit] }] : [];
}

function openProblems(context: CheckContext, b: Behaviour): Problem[] {
  const { rig } = context;
  const harmless = openAnyway(context, b.input);
  const left = b.leftOpen.filter((door) => !harmless.has(door));
  if (left.length === 0) return [];
  const names = listText(left.map((d) => rig.doors[d]!.name));
  const when = momentText(b.at!);
  const message =
    left.length > 1
      ? say`When ${b.input} is thrown ${when}, ${names} stay open for good.`
      : say`When ${b.input} is thrown ${when}, ${names} stays open for good.`;
  return [
    found(switchLoss, placeOf(rig, b.input), message, { doors: left }, { fixes: fixesOf(context, b.input, left) }),
  ];
}

/** "at the moment of the trigger", "1.4 s after the trigger". */
export function momentText(at: number): string {
  return at === 0 ? say`at the moment of the trigger` : say`${formatTime(at)} after the trigger`;
}

/** Doors that stand open without any fault: at rest, with the trigger held, or because the switch alone opens them. */
function openAnyway({ rig, facts }: CheckContext, name: string): Set<number> {
  const net = rig.switches.find((s) => s.name === name)?.net ?? -1;
  const idle = openDoors(rig, turn(settledRig(facts), net));
  const held = facts.timing.behaviours.filter((b) => b.situation === 'held').flatMap((b) => b.leftOpen);
  // The trigger comes while the switch is thrown already: what opens then follows from both, not from the moment.
  const after = facts.timing.strokes.flatMap((stroke) => {
    const thrown = turn(restBefore(facts, stroke), net);
    return openDoors(rig, turn(thrown, stroke.trigger.net));
  });
  return new Set([...facts.timing.atRest.openDoors, ...idle, ...held, ...after]);
}

function placeOf(rig: CheckContext['rig'], name: string): Problem['at'] {
  return rig.switches.find((s) => s.name === name)?.at ?? rig.at;
}

/** Gates the drives of the doors with the position of the switch in which the rig runs. */
function fixesOf(context: CheckContext, name: string, doors: readonly number[]): Fix[] {
  const { rig } = context;
  const gate = rig.switches.find((s) => s.name === name)?.initial ? name : `not ${name}`;
  const edits = doors.flatMap((door) => {
    const drive = driveOf(rig, door);
    const expression = drive && expressionOf(context, drive.whole);
    if (!expression) return [];
    return [{ at: expression.at, text: `${asOperand(expression.text, 'and')} and ${gate}` }];
  });
  const names = listText(doors.map((d) => rig.doors[d]!.name));
  return edits.length === doors.length
    ? [
        {
          title:
            gate === name
              ? say`Drive ${names} only while ${name} is on`
              : say`Drive ${names} only while ${name} is off`,
          edits,
        },
      ]
    : [];
}
