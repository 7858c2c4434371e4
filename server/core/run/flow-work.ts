/**
 * What the figures about flow may cost, in units of work (see `StrokeWatch.budget`). Each figure has a limit of its own, so that none
 * depends on which others were asked for; the whole analysis is only counted.
 */
import { WorkBudget } from '../model/budget';

/** Counts the work of one analysis of flow; its figures are what is limited. */
export const flowWork = (): WorkBudget => new WorkBudget(Infinity);

/** Units that one figure may cost. */
export const FIGURE = {
  /** A repeating stroke from a stated state. */
  stroke: 600_000,
  /** The state at which strokes move nothing more. */
  ceiling: 3_000_000,
  /** What a stroke moves by what the chamber that it goes into holds. */
  curve: 3_000_000,
  /** A stroke over time, in parts that can be drawn. */
  course: 1_500_000,
  /** What longer intervals do, together. */
  longer: 4_000_000,
  /** The rig followed by itself, and with feeds and draws off. */
  filling: 6_000_000,
  emptying: 2_000_000,
} as const;
