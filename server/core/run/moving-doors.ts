/** Doors as the coupled run follows them beside the event engine. */
import type { Motion } from '../model/motion';
import type { Rig } from '../model/rig';
import type { Engine } from '../timing/engine';

/** Doors as they stand when the engine starts. */
export function doorsOf(rig: Rig, engine: Engine): Motion[] {
  return rig.doors.map((_, d) => {
    const at = engine.doorPosition(d, 0);
    return { t: 0, from: at, to: at, arrives: 0 };
  });
}
