/** What the flow engine knows of a rig, and what every level of detail offers. */
import type { CellNetwork } from './cells';
import type { Contents } from './contents';
import type { Leaks } from './leaks';
import type { LineFlow } from './lines';
import type { GasNozzle } from './nozzle';
import type { Law } from './media/law';
import type { Step } from './program';
import type { Vessel } from './vessel';
import type { Walls } from './walls';
import type { StrokeWatch } from './watch';
import type { Work } from '../work/work';

/** How a figure was obtained: cells equalise at once, or flow goes through the stated openings. */
export type Level = 'instant' | 'openings';

/** All the flow engine knows of a rig: what `modelFlow` builds. */
export interface FlowModel {
  readonly law: Law;
  readonly network: CellNetwork;
  readonly vessels: readonly Vessel[];
  readonly lines: readonly LineFlow[];
  /** Contents of the chambers at the start, kg. */
  readonly start: readonly number[];
  /** Effective area of each door when fully open, m2, Infinity where none is stated; absent where no door states one. */
  readonly areas?: Float64Array;
  /** Per door: the law it lets gas through by, null where none is stated; absent as `areas`. */
  readonly nozzles?: readonly (GasNozzle | null)[];
  /** What passes shut doors; absent where all are tight, and for a packed medium. */
  readonly leaks?: Leaks;
  /** Heat through the walls; absent where the medium is isothermal or exchanges none. */
  readonly walls?: Walls;
}

/** A way of following contents through steps. Both levels of detail have this face. */
export interface FlowEngine {
  readonly model: FlowModel;
  readonly contents: Contents;
  /** Runs one step in place; false where it could not be followed: nothing of it may be used. */
  step(step: Step, watch: StrokeWatch): boolean;
  /** The same in steps, where one may take long; the contents belong to whoever runs it until it is done. */
  readonly stepWork?: (step: Step, watch: StrokeWatch) => Work<boolean>;
}
