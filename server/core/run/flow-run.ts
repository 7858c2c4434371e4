/** A rig ready for the flow engine: its model, the powers of its doors, and following it stroke by stroke. */
import type { FlowModel } from '../flow/rig-model';
import type { DoorPower } from '../flow/door-energy';
import type { Filling } from '../flow/facts';
import { modelFlow } from '../flow/flow-model';
import { massAt } from '../flow/vessel';
import { WorkBudget } from '../model/budget';
import type { Rig } from '../model/rig';
import type { StrokeFacts, TimingFacts } from '../timing/facts';
import type { FillingOptions } from './filling';
import { FillingRun } from './filling';
import { FIGURE } from './flow-work';
import { modesOf } from './modes';
import { finish, type Work } from '../work/work';

export const doorPowers = (rig: Rig): DoorPower[] =>
  rig.doors.map((door) => ({
    moving: door.powerMoving?.nominal ?? 0,
    held: door.powerHeld?.nominal ?? 0,
    rest: door.rest === 'open' ? 1 : 0,
  }));

/** A rig's flow model with what the run layer needs beside it; what `flowFacts` is made from and metrics run on. */
export interface FlowRun {
  readonly rig: Rig;
  readonly model: FlowModel;
  readonly fill: (options?: FillingOptions) => Filling;
  /** The same in steps. */
  readonly fillWork: (options?: FillingOptions) => Work<Filling>;
}

/** Follows the rig stroke by stroke with options of its own; null where there is no flow model. `thrown`: switches thrown at the start. */
export function flowRun(rig: Rig, thrown: ReadonlyMap<number, boolean> = NONE): FlowRun | null {
  const { model } = modelFlow(rig);
  if (!model) return null;
  const modes = modesOf(rig, thrown);
  const powers = doorPowers(rig);
  const fillWork = (options?: FillingOptions): Work<Filling> =>
    new FillingRun(rig, model, modes, powers, { budget: new WorkBudget(FIGURE.filling), ...options }).run();
  return { rig, model, fill: (options) => finish(fillWork(options)), fillWork };
}

const NONE: ReadonlyMap<number, boolean> = new Map();

/** The switch that starts the rig, where no sensor does: it is thrown for the followed run. By net. */
export function thrownSwitches(timing: TimingFacts): ReadonlyMap<number, boolean> {
  const [stroke] = timing.strokes;
  return stroke?.trigger.kind === 'switch' ? new Map([[stroke.trigger.net, stroke.becomes]]) : NONE;
}

/** Contents at the start, with the trigger's chamber brought to the threshold that starts the stroke if it is not beyond it yet. */
export function triggerMasses(rig: Rig, model: FlowModel, stroke: StrokeFacts): number[] {
  const masses = [...model.start];
  const sensor = rig.sensors[stroke.sensor];
  const threshold = stroke.becomes ? sensor?.on : (sensor?.clears ?? sensor?.on);
  const vessel = sensor && model.vessels[sensor.chamber];
  if (!sensor || !threshold || !vessel) return masses;
  const at = massAt(model.law, vessel, threshold.sensed, threshold.value.nominal, vessel.temperature);
  if (at === null) return masses;
  const was = masses[sensor.chamber]!;
  const rising = (threshold.side === 'above') === stroke.becomes;
  masses[sensor.chamber] = rising ? Math.max(was, at) : Math.min(was, at);
  return masses;
}
