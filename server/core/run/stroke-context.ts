/** What the answers about one stroke are computed from. */
import type { Filling } from '../flow/facts';
import type { StrokePattern } from '../flow/pattern';
import type { FlowModel } from '../flow/rig-model';
import type { RepeatingStroke, StrokeResult } from '../flow/strokes';
import type { Rig } from '../model/rig';
import type { StrokeFacts } from '../timing/facts';

export interface StrokeContext {
  readonly rig: Rig;
  readonly model: FlowModel;
  readonly stroke: StrokeFacts;
  readonly pattern: StrokePattern;
  readonly strokes: RepeatingStroke;
  readonly trigger: readonly number[];
  readonly interval: number | null;
  readonly atTrigger: StrokeResult;
  /** The rig followed by itself. */
  readonly filling: () => Filling | null;
}

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
