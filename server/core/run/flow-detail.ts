/** What the openings of the doors make of a stroke, beside what it would move if all equalised at once. */
import type { DetailFacts } from '../flow/facts';
import { liquidFills } from '../flow/liquid-orifice';
import type { FlowModel } from '../flow/rig-model';
import { alongStack } from '../flow/passed';
import { strokeFrom } from '../flow/strokes';
import type { CutOff } from '../flow/watch';
import type { WorkBudget } from '../model/budget';
import type { Rig } from '../model/rig';
import type { Work } from '../work/work';
import { FIGURE } from './flow-work';
import type { StrokeRun } from './stroke-context';
import { say } from '../words/say';

/** Why flow through the openings is not computed; empty where it is. */
export function detailNote(_rig: Rig, model: FlowModel): string {
  if (model.law.phase === 'packed') return say`a packed medium does not flow`;
  if (model.areas) return '';
  return model.network.measured.length > 0
    ? say`strokes of a stack with \`moves\` are measured, not computed`
    : say`no door states a bore or an area`;
}

const SHORT = 0.99;

/** In steps. */
export function* detailOf(
  rig: Rig,
  model: FlowModel,
  { pattern, program, trigger, held, strokes }: StrokeRun,
  work: WorkBudget,
): Work<DetailFacts | null> {
  const { law, areas } = model;
  if (!areas || law.phase === 'packed') return null;
  const fine = yield* strokes.work(trigger, work.part(FIGURE.stroke));
  const { areas: _areas, ...instant } = model;
  const ideal = yield* strokeFrom(instant, program, trigger, held, work.part(FIGURE.stroke));
  if (fine.doubt !== null || ideal.doubt !== null) return null;
  const cutOffs = law.phase === 'liquid' ? liquidFills({ ...model, law, areas }, pattern) : fine.cutOffs;
  const stacks = rig.stacks.map((stack, index) => {
    return { stack: index, moved: alongStack(model, fine, stack), balance: alongStack(model, ideal, stack) };
  });
  // A larger opening makes nothing of a stroke that moves nothing even at once: its pockets go back to where they were filled from.
  const passesNothing = rig.stacks.map(({ members }) =>
    members.every(
      (m) =>
        m.kind === 'door' || Math.abs(ideal.gains[m.index]!) <= 1e-9 * Math.max(...trigger.filter(Number.isFinite)),
    ),
  );
  const idle = (door: number): boolean =>
    rig.stacks.every(
      ({ members }, stack) => passesNothing[stack] || !members.some((m) => m.kind === 'door' && m.index === door),
    );
  const isShort = (cut: CutOff): boolean => cut.fill < SHORT && Number.isFinite(areas[cut.door]!) && !idle(cut.door);
  return { stacks, shortFills: worst(cutOffs.filter(isShort)) };
}

/** One for each door, in the order of their strokes: what did not fill before what did not empty, and the worst of a period. */
function worst(cuts: readonly CutOff[]): CutOff[] {
  const least = new Map<number, CutOff>();
  const rank = (cut: CutOff): number => (cut.kind === 'fill' ? 0 : 1) + Math.max(0, cut.fill) / 2;
  for (const cut of cuts) {
    const known = least.get(cut.door);
    if (!known || rank(cut) < rank(known)) least.set(cut.door, cut);
  }
  return [...least.values()];
}

/** Why a run is followed no further where that is not to stand still. */
export const noPattern = (): string =>
  say`its doors go on in no pattern that repeats as a whole (a scenario follows them all the same)`;
