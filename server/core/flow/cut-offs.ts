/**
 * Doors that shut too early for what flows through the openings. Two things can be incomplete when a door shuts: the sides it joined are not
 * yet at one pressure ("fill": what is behind it got less than it could), or its pocket still holds what should have gone on ("empty").
 * Both are ratios that are 1 where time sufficed, so that one threshold serves rigs of any size.
 */
import type { Contents } from './contents';
import { pocketPressure } from './vessel';
import type { Step } from './program';
import type { FlowModel } from './rig-model';
import type { CutOff } from './watch';

/** Notes what the doors that shut with this step cut off; ask after the step. */
export function noteCutOffs(model: FlowModel, contents: Contents, step: Step, into: CutOff[]): void {
  const { network, law } = model;
  const { chambers } = network;
  const pressure = (cell: number): number | null => {
    const volume = step.after[cell]!;
    return volume > 0 ? pocketPressure(law, volume, contents.mass[cell]!, contents.temperature[cell]!) : null;
  };
  const isOpen = (cell: number): boolean => cell < chambers || step.notShut[cell - chambers]!;
  for (let door = 0; door < network.doors; door++) {
    if (step.to[door] !== 0 || step.from[door] === 0) continue;
    const cell = chambers + door;
    const before = network.links.find((link) => link.b === cell)?.a;
    const after = network.links.find((link) => link.a === cell)?.b;
    if (before === undefined || after === undefined) continue;
    const swept = network.open[door]! - network.shut[door]!;
    // A plain valve between two chambers has no pocket to fill.
    if (!(swept > 0) && before < chambers && after < chambers) continue;
    const [first, second] = [pressure(before), pressure(after)];
    // A fill can be judged only where the door really stood between two spaces; next to a shut door its pocket is the end of the line.
    if (isOpen(before) && isOpen(after) && first !== null && first > 0 && second !== null) {
      into.push({ door, t: step.t, kind: 'fill', fill: second / first });
    }
    // The pocket empties to the side that is open, downstream first; at that side's pressure its clearance keeps what it must.
    const outlet = isOpen(after) ? second : isOpen(before) ? first : null;
    if (outlet === null || !(outlet > 0) || !(swept > 0) || law.phase !== 'gas') continue;
    const density = law.density(outlet, contents.temperature[cell]!);
    const left = contents.mass[cell]! - density * network.shut[door]!;
    const fill = Math.max(0, 1 - Math.max(0, left) / (density * network.open[door]!));
    into.push({ door, t: step.t, kind: 'empty', fill });
  }
}
