/**
 * What the figures about flow may cost, in units of work (see `StrokeWatch.budget`). One budget counts the whole analysis; each figure has
 * its own part of it, so that none depends on which others were asked for.
 */
import { WorkBudget } from '../model/budget';

/** All figures of an analysis together. Their parts add up to less but for rigs of many strokes. */
const ANALYSIS = 40_000_000;

/** The work that one analysis of flow may do. */
export const flowWork = (): WorkBudget => new WorkBudget(ANALYSIS);

/** Units that one figure may cost. */
export const FIGURE = {
  /** A repeating stroke from a stated state. */
  stroke: 600_000,
  /** The state at which strokes move nothing more. */
  ceiling: 3_000_000,
  /** What longer intervals do, together. */
  longer: 4_000_000,
  /** The rig followed by itself, and with feeds and draws off. */
  filling: 6_000_000,
  emptying: 2_000_000,
} as const;
