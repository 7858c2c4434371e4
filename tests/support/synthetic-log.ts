/** Logs of a built rig made from known truths: positions along given movements, contents by the flow engine, noise from a seed. */
import { engineOf, runStroke, startContents } from '../../server/core/flow/engine';
import { modelFlow } from '../../server/core/flow/flow-model';
import type { DoorPath, StrokePattern } from '../../server/core/flow/pattern';
import { compileStroke } from '../../server/core/flow/program';
import { reading } from '../../server/core/flow/vessel';
import { pieceOf } from '../../server/core/model/motion';
import type { Rig, Sensed } from '../../server/core/model/rig';
import type { Random } from './random';

/** One normal deviate (Box and Muller). */
export const normal = (random: Random): number =>
  Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());

/** A door that opens at `from` and begins to shut at `to` (µs), several times. */
export function pathOf(
  openings: readonly (readonly [from: number, to: number])[],
  opensIn: number,
  closesIn: number,
): DoorPath {
  return {
    initial: 0,
    moves: openings.flatMap(([from, to]) => [
      { t: from, from: 0, to: 1 as const, arrives: from + opensIn },
      { t: to, from: 1, to: 0 as const, arrives: to + closesIn },
    ]),
  };
}

/** What is read of the chambers at `times` (µs, rising) while the doors move along their paths; `runs`: when each line does, always if not stated. */
export function contentsAlong(
  rig: Rig,
  doors: readonly DoorPath[],
  times: readonly number[],
  read: readonly { readonly chamber: number; readonly sensed: Sensed }[],
  runs?: readonly (readonly (readonly [from: number, to: number])[])[],
): number[][] {
  const { model } = modelFlow(rig);
  if (!model) throw new Error('the rig has no model of flow');
  const end = times.at(-1)!;
  const pattern: StrokePattern = {
    doors: [...doors],
    duration: end + 1,
    strokes: 1,
    repeats: false,
    lines: runs ?? rig.lines.map(() => [[0, end + 1]] as const),
  };
  const volumes = compileStroke(model.network, { ...pattern, duration: 0 }).startVolumes;
  const engine = engineOf(model, startContents(model, volumes));
  let now = 0;
  const rows = times.map((t) => {
    const lines = pattern.lines.map((on) =>
      on.map(([a, b]) => [Math.max(0, a - now), Math.min(b, t) - now] as const).filter(([a, b]) => b > a),
    );
    const paths = doors.map((path) => pieceOf(path, now, t));
    runStroke(engine, compileStroke(model.network, { ...pattern, doors: paths, duration: t - now, lines }));
    now = t;
    const { mass, temperature } = engine.contents;
    return read.map(
      ({ chamber, sensed }) =>
        reading(model.law, model.vessels[chamber]!, sensed, mass[chamber]!, temperature[chamber]!) ?? NaN,
    );
  });
  return rows;
}
