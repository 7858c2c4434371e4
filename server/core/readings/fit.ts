/**
 * Calibration of a rig by the log of a built one: travel times of doors, the fraction a stroke moves, and the discharge coefficient of
 * the doors, each with its scatter, its residuals and the place in the text it belongs to. What the log cannot tell is said so.
 */
import type { Fitted } from './calibrate';
import { fitDischarge, fitFraction, fitMean, travelsOf } from './calibrate';
import { runStroke, startContents } from '../flow/engine';
import { modelFlow } from '../flow/flow-model';
import { effectiveAreas } from '../flow/nozzle';
import { Openings } from '../flow/openings';
import type { DoorMotion, DoorPath, StrokePattern } from '../flow/pattern';
import { compileStroke } from '../flow/program';
import { massAt, reading } from '../flow/vessel';
import type { Source } from '../model/problem';
import { pieceOf } from '../model/motion';
import type { Rig } from '../model/rig';
import type { ReadingColumn, RigLog } from './log-csv';
import { inGap, movedStrokes, settled, strokeStarts } from './moved-strokes';

export interface FittedProperty {
  /** `door` or `stack`, its index, and its name for people. */
  readonly of: 'door' | 'stack';
  readonly index: number;
  readonly name: string;
  readonly property: 'opens_in' | 'closes_in' | 'discharge' | 'moves';
  readonly fitted: Fitted;
  /** What the rig says now (µs, or a plain number); null where nothing. */
  readonly stated: number | null;
  /** The value as a literal of the language. */
  readonly literal: string;
  /** Place of the literal it would replace; null where the property has to be added to the statement at `whole`. */
  readonly at: Source | null;
  readonly whole: Source;
}

export interface FitReport {
  readonly properties: readonly FittedProperty[];
  /** What was left out of the log, and what it cannot tell. */
  readonly notes: readonly string[];
}

/** Fits all that the log tells about. */
export function fitRig(rig: Rig, log: RigLog): FitReport {
  const notes = [...log.exclusions];
  const properties = [
    ...travelProperties(rig, log),
    ...fractionProperties(rig, log, notes),
    ...dischargeProperties(rig, log, notes),
  ];
  if (properties.length === 0)
    notes.push(
      'The log tells nothing that can be fitted: it needs openings of doors, or readings of chambers at the ends of a stack.',
    );
  return { properties, notes };
}

// ---------------------------------------------------------------- travel

function travelProperties(rig: Rig, log: RigLog): FittedProperty[] {
  return log.doors.flatMap(({ door, openings }) => {
    const travels = travelsOf(log.times, settled(openings), inGap(log));
    const { name, opensIn, closesIn, whole } = rig.doors[door]!;
    return (['opens', 'closes'] as const).flatMap((direction) => {
      const own = travels.filter((t) => t.direction === direction);
      // A log without a reading on the way tells when a door moved, not for how long.
      if (!settled(openings).some((x) => x !== null && x > 0 && x < 1)) return [];
      const mean = fitMean(own.map((t) => ({ t: t.t, value: t.takes })));
      if (!mean) return [];
      // The steps of the log limit every travel alike, so their uncertainty does not shrink with the number of strokes.
      const resolution = own.reduce((sum, t) => sum + t.resolution, 0) / own.length;
      const fitted = { ...mean, deviation: Math.hypot(mean.deviation ?? 0, resolution) };
      const stated = direction === 'opens' ? opensIn : closesIn;
      const shared = opensIn.at.start === closesIn.at.start && opensIn.at.uri === closesIn.at.uri;
      return [
        {
          of: 'door' as const,
          index: door,
          name,
          property: direction === 'opens' ? ('opens_in' as const) : ('closes_in' as const),
          fitted,
          stated: stated.nominal,
          literal: `${Math.round(fitted.value / 1000)} ms`,
          at: shared ? null : stated.at,
          whole,
        },
      ];
    });
  });
}

// ---------------------------------------------------------------- fraction per stroke

function fractionProperties(rig: Rig, log: RigLog, notes: string[]): FittedProperty[] {
  return rig.stacks.flatMap((stack, index) => {
    const ends = [stack.members[0], stack.members[stack.members.length - 1]];
    if (ends.some((m) => m?.kind !== 'chamber')) return [];
    const [from, to] = ends.map((m) => m!.index) as [number, number];
    const upstream = massColumn(rig, log, from);
    const downstream = massColumn(rig, log, to);
    if (!upstream) return [];
    const starts = strokeStarts(rig, log, index);
    if (starts.length < 2) {
      notes.push(
        `The fraction moved per stroke needs the openings of a door of the stack from \`${rig.chambers[from]!.name}\`, over two strokes at least.`,
      );
      return [];
    }
    const fitted = fitFraction(movedStrokes(rig, log, { from, to, upstream, downstream }, starts));
    if (!fitted || !(fitted.value > 0)) return [];
    return [
      {
        of: 'stack' as const,
        index,
        name: `${rig.chambers[from]!.name} > ${rig.chambers[to]!.name}`,
        property: 'moves' as const,
        fitted,
        stated: stack.moves?.nominal ?? null,
        literal: `${Number((fitted.value * 100).toPrecision(4))} %`,
        at: stack.moves?.at ?? null,
        whole: stack.whole,
      },
    ];
  });
}

/** Masses of a chamber, kg: as read, or from pressure, density or level by the law of the medium. */
function massColumn(rig: Rig, log: RigLog, chamber: number): (number | null)[] | null {
  const own = log.readings.filter((r) => r.chamber === chamber);
  const column = own.find((r) => r.sensed === 'mass') ?? own[0];
  if (!column) return null;
  if (column.sensed === 'mass') return [...column.values];
  const { model } = modelFlow(rig);
  const vessel = model?.vessels[chamber];
  if (!model || !vessel) return null;
  return column.values.map((v) =>
    v === null ? null : massAt(model.law, vessel, column.sensed, v, vessel.temperature),
  );
}

// ---------------------------------------------------------------- discharge

/** Readings taken into the fit of a discharge coefficient at most; more are thinned. */
const READINGS = 200;

function dischargeProperties(rig: Rig, log: RigLog, notes: string[]): FittedProperty[] {
  const { model } = modelFlow(rig);
  const readings = log.readings.filter((r) => r.sensed !== 'level');
  if (!model || model.law.phase !== 'gas' || readings.length === 0) return [];
  const { law } = model;
  const areas = effectiveAreas(rig.doors);
  const logged = rig.doors.map((_, door) => log.doors.find((c) => c.door === door));
  if (typeof areas === 'string' || logged.some((c) => c === undefined)) {
    notes.push(
      'The discharge coefficient needs the opening of every door: a bore or an area in the rig, and a column in the log.',
    );
    return [];
  }
  if (log.gaps.length > 0) {
    notes.push('The discharge coefficient is not fitted across a gap in the log.');
    return [];
  }
  const masses = rig.chambers.map((_, k) => massColumn(rig, log, k));
  const start = rig.chambers.map((_, k) => masses[k]?.find((m) => m !== null) ?? model.start[k]!);
  const pattern = loggedPattern(rig, log);
  const full = Float64Array.from(rig.doors, (door) => door.area!.nominal);
  const taken = takenReadings(readings, log);
  const simulate = (discharge: number): number[] => {
    const still = { ...model, start, lines: model.lines };
    const openings = new Openings(
      { ...still, law, areas: full.map((a) => a * discharge) },
      startContents(still, startVolumes(rig, pattern)),
      { relative: 1e-5 },
    );
    return sampled(
      openings,
      pattern,
      taken,
      model.vessels.map((v) => v),
    );
  };
  const stated = rig.doors[0]!.discharge?.nominal ?? null;
  const { fitted, fit } = fitDischarge(
    stated ?? 0.62,
    taken.map((r) => ({ t: r.t, value: r.value })),
    simulate,
  );
  if (!fit.converged || fitted.deviation === null || fitted.deviation > 0.2) {
    notes.push(
      'The discharge coefficient is not determined by this log: the readings hardly depend on it (doors open long enough to equalise).',
    );
    return [];
  }
  return rig.doors.map((door, index) => ({
    of: 'door' as const,
    index,
    name: door.name,
    property: 'discharge' as const,
    fitted,
    stated: door.discharge?.nominal ?? null,
    literal: String(Number(fitted.value.toPrecision(3))),
    at: door.discharge?.at ?? null,
    whole: door.whole,
  }));
}

interface Taken {
  readonly t: number;
  readonly column: ReadingColumn;
  readonly value: number;
}

function takenReadings(readings: readonly ReadingColumn[], log: RigLog): Taken[] {
  const all = log.times.flatMap((t, k) =>
    readings.flatMap((column) =>
      column.values[k] === null || k === 0 ? [] : [{ t: t - log.times[0]!, column, value: column.values[k]! }],
    ),
  );
  const stride = Math.ceil(all.length / READINGS);
  return all.filter((_, k) => k % stride === 0);
}

/** Volumes of all cells at the start of the pattern. */
function startVolumes(rig: Rig, pattern: StrokePattern): Float64Array {
  const pocket = (k: number): number => {
    const { pocket: open, clearance } = rig.doors[k]!;
    const shut = clearance?.nominal ?? 0;
    return shut + pattern.doors[k]!.initial * ((open?.nominal ?? 0) - shut);
  };
  return Float64Array.from([...rig.chambers.map((c) => c.volume?.nominal ?? 0), ...rig.doors.map((_, k) => pocket(k))]);
}

/** The movements of the doors as logged: straight from one reading to the next. */
function loggedPattern(rig: Rig, log: RigLog): StrokePattern {
  const origin = log.times[0]!;
  const doors = rig.doors.map((_, door): DoorPath => {
    const { openings } = log.doors.find((c) => c.door === door)!;
    const travels = travelsOf(log.times, settled(openings), inGap(log));
    const initial = openings.find((x) => x !== null) ?? 0;
    const moves = travels.map((travel): DoorMotion => {
      const to = travel.direction === 'opens' ? 1 : 0;
      const t = Math.max(0, Math.round(travel.t - origin));
      return { t, from: 1 - to, to, arrives: t + Math.max(0, Math.round(travel.takes)) };
    });
    return { initial: initial > 0.5 ? 1 : 0, moves };
  });
  const duration = log.times[log.times.length - 1]! - origin;
  return { doors, duration, strokes: 1, repeats: false, lines: rig.lines.map(() => [[0, duration] as const]) };
}

/** Runs the pattern piece by piece and reads the chambers at the times of the readings. */
function sampled(
  openings: Openings,
  pattern: StrokePattern,
  taken: readonly Taken[],
  vessels: Openings['model']['vessels'],
): number[] {
  const values: number[] = [];
  let now = 0;
  for (const { t, column } of taken) {
    if (t > now) runStroke(openings, compileStroke(openings.model.network, patternPiece(pattern, now, t)));
    now = Math.max(now, t);
    const { law } = openings.model;
    const { mass, temperature } = openings.contents;
    values.push(
      reading(law, vessels[column.chamber]!, column.sensed, mass[column.chamber]!, temperature[column.chamber]!) ?? 0,
    );
  }
  return values;
}

/** The part of a pattern from `from` to `to`, counted from `from`. */
function patternPiece(pattern: StrokePattern, from: number, to: number): StrokePattern {
  const doors = pattern.doors.map((path) => pieceOf(path, from, to));
  return { ...pattern, doors, duration: to - from, lines: pattern.lines.map(() => [[0, to - from] as const]) };
}
