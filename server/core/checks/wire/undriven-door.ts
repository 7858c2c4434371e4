/** `wire/undriven-door`: a door that nothing moves. */
import type { Problem } from '../../model/problem';
import type { Door, Rig } from '../../model/rig';
import { type Check, type CheckContext, found } from '../check';
import { insertStatement } from '../repair/edits';
import { driveOf, inputsOf, isSequenced } from '../../model/logic';
import { say } from '../../words/say';

export const undrivenDoor: Check = {
  code: 'wire/undriven-door',
  title: 'Door that nothing moves',
  severity: 'warning',
  explanation:
    'The door has no `drive`, and no sequence moves it, so it never leaves its rest position. Add a `drive`; where a signal bears the name of the door, or only one signal is read by nothing, that one is offered.',
  run: (context) => context.rig.doors.flatMap((door, index) => problemOf(context, door, index)),
};

function problemOf(context: CheckContext, door: Door, index: number): Problem[] {
  const { rig } = context;
  if (driveOf(rig, index) || isSequenced(rig, index)) return [];
  const signal = likelySignal(rig, door);
  const edit = signal && insertStatement(context, `drive ${door.name} = ${signal}`, placesOfDrives(rig));
  return [
    found(
      undrivenDoor,
      door.at,
      door.rest === 'open'
        ? say`${door.name} has no drive, so it stays open permanently.`
        : say`${door.name} has no drive, so it stays shut permanently.`,
      { doors: [index] },
      { fixes: edit ? [{ title: say`Drive ${door.name} with ${signal}`, edits: [edit], preferred: true }] : [] },
    ),
  ];
}

function placesOfDrives(rig: Rig) {
  return (rig.drives.length > 0 ? rig.drives : rig.signals).map((s) => s.whole);
}

/** A signal that drives nothing yet: one that begins with the door's name, else the only one that nothing reads. */
function likelySignal(rig: Rig, door: Door): string | null {
  const driving = new Set(rig.drives.map((d) => d.net));
  const free = rig.signals.filter((s) => !driving.has(s.net));
  const named = free.find((s) => s.name === door.name || s.name.startsWith(`${door.name}_`));
  if (named) return named.name;
  const read = new Set(rig.network.elements.flatMap(inputsOf));
  const unread = free.filter((s) => !read.has(s.net));
  return unread.length === 1 ? unread[0]!.name : null;
}
