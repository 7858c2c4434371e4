/** Every single fault of a built rig: of its control, doors and lines, of what flows, and of its supply. */
import type { Rig } from '../model/rig';
import { flowFaults } from './fault-flows';
import { controlFaults, type Fault } from './fault-list';
import { say } from '../words/say';

/** What flows wrong is listed at one size each. Own choice, no source. */
const [LISTED_RATE, LISTED_LEAK] = [0.5, 0.05];

/** In the order of the text, kind by kind. */
export const faultsOf = (rig: Rig): Fault[] => [
  ...controlFaults(rig),
  ...flowFaults(rig, [LISTED_RATE], [LISTED_LEAK]),
  { kind: 'supply', mode: say`supply lost`, rig: null },
];
