/**
 * Properties that every rig is asked for without any `require`.
 *
 * The questions follow from the text's intent (`model/intent.ts`), as in the checks, so that check and proof ask the same question and can
 * only differ in how far they look: a check follows the strokes, a proof every moment at which an input may change. Names of properties
 * are what a user reads and what results are matched by; they must differ within one rig.
 */
import type { Rig } from '../model/rig';
import { endsOf, isMeantToStandOpen, pathsToKeepShut, ventsOfPath } from '../model/intent';
import { conditionOf, isDriven } from '../model/logic';
import { heldByInputs } from '../timing/held';
import { hasPocket, pocketOutlets, stagesOf } from '../model/stages';
import type { Property } from './monitor';
import { say } from '../words/say';

/** `initial`: value of each switch and sensor at the start. */
export function builtinProperties(rig: Rig, initial: (net: number) => boolean): Property[] {
  return [
    ...pathProperties(rig),
    ...pocketProperties(rig),
    ...restProperties(rig, initial),
    ...switchProperties(rig, initial),
  ];
}

/** Each path that must not stand open: while the rig runs, and as power goes. */
function pathProperties(rig: Rig): Property[] {
  return pathsToKeepShut(rig).flatMap((path): Property[] => {
    const { doors } = path;
    const vents = ventsOfPath(rig, path);
    const name = say`no straight-through path from ${endsOf(rig, path)}`;
    const but = vents.length > 0 ? say`, except by ${vents.map((v) => rig.switches[v.switch]!.name).join(' or ')}` : '';
    return [
      { kind: 'straight-through', name: `${name}${but}`, doors, vents },
      // Power may go at any moment: asked of every state, as "off their seats, or resting open".
      { kind: 'power-loss', name: say`${name} when power is lost${but}`, doors, vents },
    ];
  });
}

/** Doors between two others: next to a chamber a pocket always empties. */
function pocketProperties(rig: Rig): Property[] {
  return stagesOf(rig).flatMap((stage) =>
    stage.doors.flatMap((door, place): Property[] => {
      const outlets = pocketOutlets(rig, stage, place);
      // A side without a door is a chamber, into which the pocket empties.
      if (!hasPocket(rig, door) || outlets.some((side) => side.length === 0)) return [];
      return [
        { kind: 'trapped-pocket', name: say`no trapped pocket when ${rig.doors[door]!.name} closes`, door, outlets },
      ];
    }),
  );
}

/**
 * Doors that are driven must be shut while the rig does nothing, unless `stands_open` or the inputs as they stand say otherwise. Which doors those are is
 * judged once, in `timing/held.ts`, for this question as for the check `door/left-open`: a door that inputs hold open at the start is asked of by neither.
 * What is left is asked of every run: at rest (`still` in monitor.ts: nothing in the cone of the door under way) with every input as at the start, the door
 * is shut. The exhaustive exploration of the tests has the same rule in words of its own, over the rig cut down to what drives the door.
 */
function restProperties(rig: Rig, initial: (net: number) => boolean): Property[] {
  const inputs = new Map([...rig.switches, ...rig.sensors].map((i) => [i.net, initial(i.net)] as const));
  const isHeld = heldByInputs(rig, initial);
  return rig.doors.flatMap((door, d): Property[] => {
    if (!isDriven(rig, d) || isMeantToStandOpen(rig, d) || isHeld(d)) return [];
    return [{ kind: 'left-open', name: say`${door.name} not left open at rest`, door: d, initialInputs: inputs }];
  });
}

/** Each switch that is on at the start: off permanently, with all others as at the start. */
function switchProperties(rig: Rig, initial: (net: number) => boolean): Property[] {
  return rig.switches
    .filter(({ net }) => initial(net))
    .map((thrown) => ({
      kind: 'switched-off',
      name: say`${thrown.name} off brings every door to rest`,
      switches: new Map(rig.switches.map(({ net }) => [net, net !== thrown.net && initial(net)] as const)),
    }));
}

/** Properties that requirements about always and never ask for; null where the requirement is of another kind. */
export function requirementProperty(rig: Rig, requirement: Rig['requirements'][number]): Property | null {
  const name = requirement.text;
  // What holds during a scenario says nothing about other inputs.
  if (requirement.during !== null) return null;
  const doors = requirement.args.flatMap((a) => (a.kind === 'item' && a.of === 'door' ? [a.index] : []));
  switch (requirement.metric) {
    case 'never': {
      const condition = conditionOf(rig, requirement.args[0]);
      return condition ? { kind: 'never', name, condition } : null;
    }
    case 'gap': {
      const least = requirement.comparison;
      // Upper bounds are not a question of safety (see below); a gap of three doors is not defined.
      if (doors.length !== 2 || !least || !['>=', '>', 'in'].includes(least.operator)) return null;
      return {
        kind: 'gap',
        // An upper bound cannot hold always: the other door may not open for days.
        name: least.operator === 'in' ? say`${name} (its lower end)` : name,
        doors: [doors[0]!, doors[1]!],
        least: least.low.nominal + (least.operator === '>' ? 1 : 0),
      };
    }
    case 'order': {
      const events = requirement.args.flatMap((a) => (a.kind === 'event' ? [{ door: a.door, event: a.event }] : []));
      return events.length === requirement.args.length && events.length > 0 ? { kind: 'order', name, events } : null;
    }
    default:
      return null;
  }
}
