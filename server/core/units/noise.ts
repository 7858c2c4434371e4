/**
 * What is left of figures that cancel out is rounding, not a quantity: the one place that says how little counts as nothing. Whoever
 * subtracts sums of one kind asks it, and so does whoever prints figures side by side (`formatAlike`).
 */

/** Part of the figures beside it below which a figure is nothing: conservation holds to this, and no figure is more exact. */
export const NOISE = 1e-9;

/** `value`, or 0 where it is nothing beside `of` (in the same unit). */
export const beside = (value: number, of: number): number => (Math.abs(value) <= NOISE * Math.abs(of) ? 0 : value);
