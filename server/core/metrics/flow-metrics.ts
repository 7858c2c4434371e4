/**
 * Metrics that need masses, pressures and energies. Their signatures stand, so that requirements can be written and are checked
 * for form; they evaluate to "not computed yet" until the flow engine answers, never to a pass.
 */
import type { DimensionName } from '../units/dimensions';
import type { AwaitedMetric, Parameter } from './metric';

const CHAMBER: Parameter = { name: 'chamber', kind: 'chamber' };
const CONTENTS: readonly DimensionName[] = ['pressure', 'density', 'mass', 'length'];
const TARGET: Parameter = { name: 'target', kind: 'quantity', dimensions: CONTENTS };

function awaited(
  name: string,
  parameters: readonly Parameter[],
  dimensions: readonly DimensionName[],
  definition: string,
): AwaitedMetric {
  return { name, kind: 'awaited', parameters, dimensions, definition };
}

export const FLOW_METRICS: readonly AwaitedMetric[] = [
  awaited(
    'stroke_mass',
    [CHAMBER],
    ['mass'],
    'Mass that the first stroke brings into the chamber, from the contents at the start.',
  ),
  awaited('strokes_to', [CHAMBER, TARGET], ['none'], 'Number of strokes until the chamber reaches the target.'),
  awaited(
    'time_to',
    [CHAMBER, TARGET],
    ['time'],
    'Time from the first trigger until the chamber reaches the target, feeds and draws included.',
  ),
  awaited(
    'peak',
    [CHAMBER],
    CONTENTS,
    'The highest value the chamber reaches; the comparison says of what (pressure, density, mass or level).',
  ),
  awaited('lowest', [CHAMBER], CONTENTS, 'The lowest value the chamber falls to; the comparison says of what.'),
  awaited(
    'final',
    [CHAMBER],
    CONTENTS,
    'The value in the chamber at the end of the scenario; the comparison says of what.',
  ),
  awaited(
    'ceiling',
    [CHAMBER],
    CONTENTS,
    'The value at which a stroke moves nothing more into the chamber (clearance, bulk modulus or sensor).',
  ),
  awaited(
    'rate',
    [CHAMBER],
    ['mass_flow'],
    'Mean mass flow into the chamber through its doors, over whole strokes once the rig is steady.',
  ),
  awaited(
    'energy_per_stroke',
    [],
    ['energy'],
    'Energy of one stroke: doors moving and held, compression, feeds and draws while it lasts.',
  ),
  awaited('energy_per_kg', [], ['specific_energy'], 'Energy of whole strokes divided by the mass they move.'),
];
