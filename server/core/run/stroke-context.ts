/** What the answers about one stroke are computed from. */
import type { Filling } from '../flow/facts';
import type { StrokePattern } from '../flow/pattern';
import type { FlowModel } from '../flow/rig-model';
import type { WorkBudget } from '../model/budget';
import type { RepeatingStroke, StrokeResult } from '../flow/strokes';
import type { Rig } from '../model/rig';
import type { StrokeFacts } from '../timing/facts';
import { FIGURE } from './flow-work';

export interface StrokeContext {
  readonly rig: Rig;
  readonly model: FlowModel;
  readonly stroke: StrokeFacts;
  readonly pattern: StrokePattern;
  readonly strokes: RepeatingStroke;
  readonly trigger: readonly number[];
  readonly interval: number | null;
  readonly atTrigger: StrokeResult;
  /** The work of the analysis; each figure takes a part of it (flow-work.ts). */
  readonly work: WorkBudget;
  /** Takes note of a figure that is withheld. */
  readonly withhold: (figure: string, why: string) => void;
  /** The rig followed by itself. */
  readonly filling: () => Filling | null;
}

/** The repeating stroke with the chambers at `masses`, within what one figure may cost. */
export const strokeAt = (
  { strokes, work }: Pick<StrokeContext, 'strokes' | 'work'>,
  masses: readonly number[],
): StrokeResult => strokes.at(masses, work.part(FIGURE.stroke));

export const withMass = (masses: readonly number[], chamber: number, mass: number): number[] =>
  masses.map((m, k) => (k === chamber ? mass : m));

/** The chamber that the strokes empty and that is fed: the trigger's, else the first chamber of a stack that has a feed. */
export function fedChamber({ rig, stroke }: StrokeContext): number | null {
  const heads = rig.stacks.map((stack) => stack.members[0]!.index);
  const fed = heads.filter((head) => rig.lines.some((l) => l.kind === 'feed' && l.chamber === head));
  const own = rig.sensors[stroke.sensor]?.chamber;
  return fed.find((head) => head === own) ?? fed[0] ?? null;
}

export function netFeed(model: FlowModel, chamber: number): number {
  return model.lines.reduce((sum, line) => sum + (line.chamber === chamber ? line.sign * line.rate : 0), 0);
}
