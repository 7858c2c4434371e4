/**
 * Whether a column may be in another unit than its heading says: its first readings against the contents that the rig starts with, and the
 * readings at which the rig trips against the thresholds of its sensors. A doubt is a question, never a guess.
 */
import { modelFlow } from '../flow/flow-model';
import { reading } from '../flow/vessel';
import type { Rig } from '../model/rig';
import type { DimensionName } from '../units/dimensions';
import { formatSi, unitsOf } from '../units/units';
import { scaleOf } from './headings';
import type { ReadingColumn, RigLog } from './log';
import { rampsOf } from './ramps';
import { medianOf } from './statistics';
import { travelFit } from './travel-fit';
import { say } from '../words/say';

/** As written and read, a value this far from the rig's is strange; in another unit, one this near is striking. */
const STRANGE = 0.25;
const STRIKING = 0.05;

const DIMENSION: Readonly<Record<ReadingColumn['sensed'], DimensionName>> = {
  mass: 'mass',
  pressure: 'pressure',
  density: 'density',
  level: 'length',
};

/** One sentence for the first column in doubt, null where all agree. */
export function unitQuestion(rig: Rig, log: RigLog): string | null {
  for (const column of log.readings) {
    const found = questionOf(rig, log, column);
    if (found !== null) return found;
  }
  return clockQuestion(rig, log);
}

interface Pair {
  readonly read: number;
  readonly expected: number;
  readonly what: string;
}

function questionOf(rig: Rig, log: RigLog, column: ReadingColumn): string | null {
  const pairs = [startPair(rig, log, column), tripPair(rig, log, column)].filter((p): p is Pair => p !== null);
  const own = scaleOf(column.unit);
  const strange = pairs.find((p) => off(p.read, p.expected) > STRANGE);
  if (!own || !strange) return null;
  const dimension = DIMENSION[column.sensed];
  const likely = unitsOf(dimension).find(({ name }) => {
    const scale = scaleOf(name);
    if (name === column.unit || !scale) return false;
    const other = (v: number): number => scale.offset + (scale.factor * (v - own.offset)) / own.factor;
    return off(other(strange.read), strange.expected) < STRIKING;
  });
  if (!likely) return null;
  const name = rig.chambers[column.chamber]!.name;
  const number = Number(((strange.read - own.offset) / own.factor).toPrecision(4));
  return say`The column \`${column.heading}\` reads ${number} ${column.unit} ${strange.what}, where ${name} should be at ${formatSi(strange.expected, dimension)}: are these readings in ${likely.name}? Correct the heading.`;
}

const off = (a: number, b: number): number => Math.abs(a - b) / Math.max(Math.abs(b), 1e-12);

/** The first readings and what the rig starts with. */
function startPair(rig: Rig, { doors, times }: RigLog, { chamber, sensed, values }: ReadingColumn): Pair | null {
  const { model } = modelFlow(rig);
  const vessel = model?.vessels[chamber];
  if (!model || !vessel) return null;
  const expected = reading(model.law, vessel, sensed, model.start[chamber]!, vessel.temperature);
  const first: number[] = [];
  for (let k = 0; k < times.length && first.length < 9; k++) {
    if (doors.some((d) => d.openings[k]! > 0.3)) break;
    if (!Number.isNaN(values[k]!)) first.push(values[k]!);
  }
  if (expected === null || !(expected > 0) || first.length === 0) return null;
  // Contents that move while the first readings are taken do not suggest another unit: the reading nearest to the start decides.
  const read = first.reduce((a, b) => (off(b, expected) < off(a, expected) ? b : a));
  return { read, expected, what: say`at first` };
}

/** The reading as the first stroke begins, and the threshold that starts it. */
function tripPair(rig: Rig, log: RigLog, { chamber, sensed, values }: ReadingColumn): Pair | null {
  const sensor = rig.sensors.find((s) => s.chamber === chamber && s.on?.sensed === sensed && s.on.side === 'above');
  const expected = sensor?.on?.value.nominal ?? 0;
  const starts = log.doors
    .flatMap((column) =>
      rampsOf(log, column)
        .filter((r) => r.opens)
        .map((r) => r.half),
    )
    .sort((a, b) => a - b);
  const k = log.times.findIndex((t) => t >= (starts[0] ?? Infinity)) - 2;
  // Only where the contents rise to the threshold does it tell what they are.
  if (!sensor || !(expected > 0) || k < 1 || Number.isNaN(values[k]!) || !(values[0]! < 0.8 * values[k]!)) return null;
  return { read: values[k]!, expected, what: say`when ${sensor.name} trips` };
}

/** Travels a thousand times too long or too short: milliseconds taken for seconds, or the other way round. */
function clockQuestion(rig: Rig, log: RigLog): string | null {
  const ratios = log.doors.flatMap((column) => {
    const ramps = rampsOf(log, column);
    const { opensIn } = rig.doors[column.door]!;
    const travel = travelFit(log, column, true, ramps).travel;
    return travel && opensIn.nominal > 0 ? [travel.value / opensIn.nominal] : [];
  });
  const ratio = medianOf(ratios);
  if (ratio > 300 && ratio < 3000)
    return say`By this log the doors move a thousand times slower than the rig says: are its times in ms? Correct the heading.`;
  if (ratio > 0 && ratio < 1 / 300)
    return say`By this log the doors move a thousand times faster than the rig says: are its times in s? Correct the heading.`;
  return null;
}
