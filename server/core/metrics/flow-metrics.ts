/** Metrics of masses, pressures and energies, in the order of the reference. */
import { final, lowest, peak } from './flow/extremes';
import { strokesTo, timeTo } from './flow/reach';
import { ceiling, energyPerKg, energyPerStroke, rate, strokeMass } from './flow/stroke';
import type { FlowMetric } from './metric';

export const FLOW_METRICS: readonly FlowMetric[] = [
  strokeMass,
  strokesTo,
  timeTo,
  peak,
  lowest,
  final,
  ceiling,
  rate,
  energyPerStroke,
  energyPerKg,
];
