/** `order(event, event, …)`: door events follow one another as written. */
import type { Sample, StateMetric } from '../metric';
import { NOWHERE } from '../metric';
import { eventText, firstMoment } from './moments';
import { timerPlaces } from './places';
import { say } from '../../words/say';

export const order: StateMetric = {
  name: 'order',
  kind: 'state',
  parameters: [{ name: 'event', kind: 'events' }],
  definition:
    'Holds where each event comes later than the one written before it; two at the same moment are not in order. The first time each happens in the stroke counts. Events: `opens` (leaves its seat), `opened` (fully open), `closes` (starts to close), `shuts` (shut again).',
  whenAbsent: 'failed',
  measure(course, args) {
    const events = args.flatMap((a) => (a.kind === 'event' ? [a] : []));
    const moments = events.map((e) => ({ e, found: firstMoment(course, e.door, e.event) }));
    const text = ({ e, found }: (typeof moments)[number]): string => eventText(e.name, e.event, found?.t ?? null);
    const missing = moments.find((m) => m.found === null);
    // Doors of another stroke: nothing to put in order here.
    if (moments.every((m) => m.found === null)) return { kind: 'absent', why: text(missing!) };
    if (missing) return broken({ value: 0, why: text(missing), places: NOWHERE });
    for (let i = 1; i < moments.length; i++) {
      const [before, after] = [moments[i - 1]!, moments[i]!];
      if (after.found!.t > before.found!.t) continue;
      const why = say`${text(after)} and ${text(before)}`;
      const places = () => {
        const chains = [...after.found!.opening.opensBecause, ...before.found!.opening.closesBecause];
        return timerPlaces(course.rig, chains, say`it decides the order`);
      };
      return broken({ value: 0, why, dated: true, places });
    }
    return {
      kind: 'samples',
      samples: [{ value: 1, why: say`the events follow one another as written`, places: NOWHERE }],
    };
  },
};

function broken(sample: Sample): ReturnType<StateMetric['measure']> {
  return { kind: 'samples', samples: [sample] };
}
