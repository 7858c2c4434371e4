/**
 * From a resolved rig to the flow engine's model of it, with one clear problem for everything that makes no sense.
 *
 * Everything impossible is caught here, in one place, so that the engine may assume sane input and hold no checks: volumes above zero, clearances
 * not above pockets, rates positive and finite, names that exist. Errors leave no model at all; a figure from half a model would look like one.
 * Odd but possible statements give a warning and a model.
 */
import type { Problem, Source } from '../model/problem';
import type { Chamber, Line, Rig, Stack, Threshold } from '../model/rig';
import type { FlowModel } from './rig-model';
import { cellNetwork } from './cells';
import { lineFlow, massRate } from './lines';
import type { Law } from './media/law';
import { liquidDensity } from './media/law';
import { lawOf } from './media/medium-law';
import { leakProblems, openingsOf, wallsOfRig } from './model-parts';
import { LIQUID_RANGE } from './states';
import { massAt, startMass, vesselOf } from './vessel';
import { say } from '../words/say';

export interface FlowModelling {
  /** Null where there is nothing to compute with, or nothing that could be believed. */
  readonly model: FlowModel | null;
  /** Why not, or what is odd; `flow/value`, one per mistake. Empty for a rig that moves no medium (no `medium`). */
  readonly problems: readonly Problem[];
}

/** Builds the model. Errors leave no model; warnings (a store above its limit) do. */
export function modelFlow(rig: Rig): FlowModelling {
  // A rig of timing only: it does not ask about flow, which is not a mistake.
  if (!rig.medium || rig.stacks.length === 0 || !isNamed(rig)) return { model: null, problems: [] };
  const law = lawOf(rig.medium);
  if (typeof law === 'string') {
    return { model: null, problems: [impossible(say`Flow is not computed: ${law}.`, rig.medium.at)] };
  }
  const problems = [
    ...rig.stacks.flatMap((stack) => stackProblems(rig, stack)),
    ...usedChambers(rig).flatMap((chamber) => chamberProblems(chamber, law)),
    ...rig.doors.flatMap((door, index) => (inStack(rig, 'door', index) ? doorProblems(door) : [])),
    ...rig.lines.flatMap((line) => lineProblems(line, law)),
    ...leakProblems(rig, law),
    ...rig.sensors.flatMap((s) => (s.on ? thresholdProblems(s.on, law, say`sensor \`${s.name}\``) : [])),
  ];
  if (problems.some((p) => p.severity !== 'warning')) return { model: null, problems };
  const vessels = rig.chambers.map((chamber) => vesselOf(chamber, law));
  // From here on nothing fails: each part of the model is a plain conversion of what was checked above.
  const start = rig.chambers.map((chamber, k) => startMass(chamber, vessels[k]!, law));
  const model: FlowModel = {
    law,
    network: cellNetwork(rig),
    vessels,
    lines: rig.lines.map((line) => lineFlow(line, law, vessels[line.chamber], start[line.chamber] ?? 0)),
    start,
    ...openingsOf(rig, law),
    ...wallsOfRig(rig, law, vessels),
  };
  return { model, problems: [...problems, ...startProblems(rig, model)] };
}

/** The model of a rig whose gas is isothermal, without any heat to the walls; null for every other rig. */
export function adiabaticModel(rig: Rig): FlowModel | null {
  const { medium } = rig;
  // Only for an isothermal gas is it a bound: any other states how much heat it exchanges.
  if (medium?.phase !== 'gas' || medium.process !== 'isothermal') return null;
  return modelFlow({ ...rig, medium: { ...medium, process: 'adiabatic' } }).model;
}

/** Whether every stack and line names items that exist: what does not is reported by the resolver. */
const isNamed = (rig: Rig): boolean =>
  rig.stacks.every((stack) => stack.members.length > 0 && stack.members.every((m) => m.index >= 0)) &&
  rig.lines.every((line) => line.chamber >= 0);

const impossible = (message: string, at: Source): Problem => ({ code: 'flow/value', severity: 'error', message, at });
const doubtful = (message: string, at: Source): Problem => ({ code: 'flow/value', severity: 'warning', message, at });

function inStack(rig: Rig, kind: 'chamber' | 'door', index: number): boolean {
  return rig.stacks.some((stack) => stack.members.some((m) => m.kind === kind && m.index === index));
}

/** Chambers that flow can reach: in a stack, or at a line. */
const usedChambers = (rig: Rig): Chamber[] =>
  rig.chambers.filter((_, index) => inStack(rig, 'chamber', index) || rig.lines.some((line) => line.chamber === index));

/** A stack that begins or ends with a door moves into nothing. */
function stackProblems(rig: Rig, stack: Stack): Problem[] {
  const first = stack.members[0];
  const last = stack.members[stack.members.length - 1];
  for (const [end, member] of [
    ['start', first],
    ['end', last],
  ] as const) {
    if (member?.kind === 'chamber') continue;
    const name = member ? say` with door \`${rig.doors[member.index]?.name ?? ''}\`` : say` with nothing`;
    const at = member?.at ?? stack.whole;
    return [
      impossible(
        end === 'start'
          ? say`A stack must start with a chamber, not${name}: what it moves has nowhere to come from.`
          : say`A stack must end with a chamber, not${name}: what it moves has nowhere to go.`,
        at,
      ),
    ];
  }
  return [];
}

/** Impossible statements about a chamber; one that is endless is the atmosphere and has none. */
function chamberProblems(chamber: Chamber, law: Law): Problem[] {
  const problems: Problem[] = [];
  const { name, volume, pressure, density, mass, temperature, level, floorArea } = chamber;
  if (chamber.endless) return [];
  // Information, not an error: a rig drawn for its timing has a medium before it has volumes.
  if (!volume)
    problems.push({
      ...impossible(say`Chamber \`${name}\` needs a volume before flow can be computed.`, chamber.at),
      severity: 'information',
    });
  else if (!positive(volume.nominal))
    problems.push(impossible(say`The volume of chamber \`${name}\` must be above zero.`, volume.at));
  if (pressure && !(pressure.nominal >= 0)) {
    problems.push(impossible(say`The pressure in \`${name}\` is below a perfect vacuum.`, pressure.at));
  }
  for (const [word, value] of [
    ['density', density],
    ['mass', mass],
    ['level', level],
  ] as const) {
    if (value && !(value.nominal >= 0))
      problems.push(impossible(say`The ${word} in \`${name}\` must not be negative.`, value.at));
  }
  if (temperature && !positive(temperature.nominal)) {
    problems.push(impossible(say`The temperature in \`${name}\` must be above absolute zero.`, temperature.at));
  }
  if (floorArea && !positive(floorArea.nominal)) {
    problems.push(impossible(say`The floor area of \`${name}\` must be above zero.`, floorArea.at));
  }
  if (law.phase === 'packed' && pressure) {
    problems.push(
      doubtful(say`A packed medium has no pressure: the pressure in \`${name}\` is not used.`, pressure.at),
    );
  }
  if (law.phase === 'packed' && chamber.limit?.kind === 'pressure') {
    problems.push(
      impossible(say`A packed medium has no pressure: limit \`${name}\` by density or mass.`, chamber.limit.value.at),
    );
  }
  if (law.phase === 'liquid' && volume && level) problems.push(...overfilled(chamber, law.referenceDensity));
  return problems;
}

/** A level above the chamber's own height. */
function overfilled(chamber: Chamber, referenceDensity: number): Problem[] {
  const volume = chamber.volume!.nominal;
  const area = chamber.floorArea?.nominal ?? Math.cbrt(volume) ** 2;
  const level = chamber.level!.nominal;
  // Rounding of a level converted from other units does not count as overfilling.
  if (level * area <= volume * (1 + 1e-9)) return [];
  const message = say`A level of ${level} m over ${area.toPrecision(4)} m² is more than chamber \`${chamber.name}\` holds (${volume} m³, ${(volume * referenceDensity).toPrecision(4)} kg).`;
  return [impossible(message, chamber.level!.at)];
}

const positive = (x: number): boolean => x > 0 && Number.isFinite(x);

/** Pocket and clearance: not negative, and the clearance not the larger. */
function doorProblems(door: Rig['doors'][number]): Problem[] {
  const pocket = door.pocket?.nominal ?? 0;
  const clearance = door.clearance?.nominal ?? 0;
  if (!(pocket >= 0) || !Number.isFinite(pocket)) {
    return [impossible(say`The pocket of door \`${door.name}\` must not be negative.`, door.pocket!.at)];
  }
  if (!(clearance >= 0) || !Number.isFinite(clearance)) {
    return [impossible(say`The clearance of door \`${door.name}\` must not be negative.`, door.clearance!.at)];
  }
  if (clearance > pocket) {
    return [impossible(say`The clearance of door \`${door.name}\` is larger than its pocket.`, door.clearance!.at)];
  }
  return [];
}

/** A rate that is positive and can be turned into mass, limits that are positive, a threshold that this medium can have. */
function lineProblems(line: Line, law: Law): Problem[] {
  const { rate } = line;
  if (!rate || line.chamber < 0) return [];
  const value = rate.value.nominal;
  if (!positive(value)) {
    return [impossible(say`The rate of ${line.kind} \`${line.name}\` must be above zero and finite.`, rate.value.at)];
  }
  if (massRate(rate, law) === null) {
    return [
      impossible(
        say`A packed medium has no density of its own: give the rate of \`${line.name}\` as mass, in kg/s.`,
        rate.value.at,
      ),
    ];
  }
  for (const limit of [line.lineLimit, line.pumpLimit]) {
    if (limit && !positive(limit.value.nominal)) {
      return [impossible(say`A limit of ${line.kind} \`${line.name}\` must be above zero and finite.`, limit.value.at)];
    }
  }
  return line.only ? thresholdProblems(line.only, law, `${line.kind} \`${line.name}\``) : [];
}

/** A threshold on what this medium has, not below zero. `who`: the sensor or line, for the message. */
function thresholdProblems(threshold: Threshold, law: Law, who: string): Problem[] {
  const { sensed } = threshold;
  if (sensed === 'pressure' && law.phase === 'packed') {
    return [impossible(say`A packed medium has no pressure: let ${who} look at density or mass.`, threshold.value.at)];
  }
  if (sensed === 'level' && law.phase !== 'liquid') {
    return [
      impossible(say`Only a liquid has a level: let ${who} look at pressure, density or mass.`, threshold.value.at),
    ];
  }
  if (!(threshold.value.nominal >= 0)) {
    return [impossible(say`The threshold of ${who} is below zero, which is never reached.`, threshold.value.at)];
  }
  return [];
}

/** Start contents that are odd but computable: above a limit, outside the range of the law. */
function startProblems(rig: Rig, model: FlowModel): Problem[] {
  const problems: Problem[] = [];
  const { law } = model;
  rig.chambers.forEach((chamber, k) => {
    const vessel = model.vessels[k]!;
    const mass = model.start[k]!;
    const { limit } = chamber;
    if (limit) {
      const most = massAt(law, vessel, limit.kind, limit.value.nominal, vessel.temperature);
      if (most !== null && mass > most * (1 + 1e-9)) {
        problems.push(doubtful(say`Chamber \`${chamber.name}\` starts above its own limit.`, limit.value.at));
      }
    }
    if (vessel.volume <= 0) return;
    if (law.phase === 'gas') {
      const doubt = law.doubt(mass / vessel.volume, vessel.temperature);
      if (doubt) problems.push(doubtful(`In \`${chamber.name}\` ${doubt}.`, chamber.at));
    }
    if (law.phase === 'liquid' && mass > liquidDensity(law, LIQUID_RANGE) * vessel.volume) {
      problems.push(
        doubtful(
          say`In \`${chamber.name}\` the liquid would stand above 100 MPa, where a constant bulk modulus no longer holds.`,
          chamber.at,
        ),
      );
    }
  });
  return problems;
}
