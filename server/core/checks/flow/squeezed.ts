/** `flow/squeezed`: a pocket closes faster than its opening lets out what is in it. */
import { formatSi } from '../../units/units';
import type { Rig } from '../../model/rig';
import type { StrokeFacts } from '../../timing/facts';
import { type Check, found } from '../check';
import { say } from '../../words/say';

/** Times the highest pressure around it above which a pocket counts as squeezed. */
const SQUEEZED = 2;
/** Pa beyond which the figure says only that nothing bounds it. */
const UNBOUNDED = 100e6;

export const squeezed: Check = {
  code: 'flow/squeezed',
  title: 'Pressure peak in a closing pocket',
  severity: 'warning',
  explanation:
    'While a door closes, the pressure in its pocket rises above twice the highest pressure it starts from or that any chamber holds: what is in it cannot leave through the openings in the time of the travel. Close the door more slowly, make the opening it pushes through larger, or state the clearance that is left. Only where openings are stated; a pocket with no way out at all is `door/trapped-pocket`.',
  run({ rig, facts }) {
    return (facts.flow?.strokes ?? []).flatMap(({ stroke, loads, obtained, stacks, trapped }) => {
      if (obtained !== 'openings') return [];
      const states = stacks.flatMap((s) => [facts.flow!.start[s.from]!, facts.flow!.start[s.to]!]);
      const around = Math.max(
        triggerPressure(rig, facts.timing.strokes[stroke]!),
        ...states.map((s) => s.pressure ?? 0),
      );
      return rig.doors.flatMap((door, k) => {
        const least = SQUEEZED * Math.max(around, loads.rest[k]!);
        if (loads.peak[k]! <= least || least <= 0 || trapped.some((t) => t.doors.includes(k))) return [];
        const peak = loads.peak[k]!;
        const to = peak > UNBOUNDED ? say`beyond 1000 bar` : say`to ${formatSi(peak, 'pressure')}`;
        const message = say`The pocket of ${door.name} is squeezed from ${formatSi(loads.rest[k]!, 'pressure')} ${to} while the door closes: its contents cannot leave through the openings in time.`;
        return [found(squeezed, door.at, message, { doors: [k] })];
      });
    });
  },
};

/** Pa at which the chamber of the trigger stands as the stroke starts, where that is its pressure; else 0: the others stand as at the start. */
function triggerPressure(rig: Rig, { sensor, becomes }: StrokeFacts): number {
  const asked = rig.sensors[sensor];
  const threshold = becomes ? asked?.on : asked?.clears;
  return threshold?.sensed === 'pressure' ? threshold.value.nominal : 0;
}
