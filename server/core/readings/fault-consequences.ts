/** What follows from a fault: paths that stand open, requirements that are not met, sensors that should notice. */
import { evaluateRequirement } from '../metrics/evaluate';
import { metricNamed } from '../metrics/registry';
import type { Requirement, Rig } from '../model/rig';
import type { Path } from '../model/stages';
import { analyseRig } from '../run/analyse';
import type { RigFacts } from '../run/facts';
import { pathOpen } from '../timing/course';
import type { Trace } from '../timing/trace';

/** Paths that stand open with a fault although they do not in the sound rig. */
export function straightPaths(facts: RigFacts, sound: readonly Trace[], seen: readonly Trace[]): Path[] {
  const before = openPaths(facts, sound);
  return openPaths(facts, seen).filter((path) => !before.includes(path));
}

function openPaths({ rig, timing }: RigFacts, traces: readonly Trace[]): Path[] {
  const paths = timing.strokes[0]?.straightThrough.map((s) => s.path) ?? [];
  return paths.filter((path) => traces.some((t) => pathOpen(rig, t, path).length > 0));
}

/** `inlet + outlet` */
export const pathText = (rig: Rig, { doors }: Path): string => doors.map((d) => rig.doors[d]!.name).join(' + ');

/** What is wrong without any fault, so that no fault is counted for it. */
export interface AlreadyWrong {
  readonly straight: readonly string[];
  /** Requirements about times that the rig as designed does not meet. */
  readonly broken: readonly string[];
}

export const alreadyWrong = (facts: RigFacts, sound: readonly Trace[]): AlreadyWrong => ({
  straight: openPaths(facts, sound).map((path) => pathText(facts.rig, path)),
  broken: timeRequirements(facts, false).map((r) => r.text),
});

/** Requirements about times alone that the rig as designed meets, or those that it does not. */
const timeRequirements = (facts: RigFacts, met: boolean): Requirement[] =>
  facts.rig.requirements.filter((r) => {
    const metric = metricNamed(r.metric);
    return metric !== undefined && metric.kind !== 'flow' && (evaluateRequirement(facts, r).state === 'met') === met;
  });

/** Requirements about times alone; those about contents are not judged here. */
export function brokenBy(facts: RigFacts, faulty: Rig): string[] {
  const mine = timeRequirements(facts, true);
  if (mine.length === 0) return [];
  const wrong = analyseRig(faulty);
  return mine.filter((r) => evaluateRequirement(wrong, r).state !== 'met').map((r) => r.text);
}

/** Sensors beside what stands still, runs wrong or stands open; and those that are `apart` from the sound rig (by index), by what they see. */
export function noticed(
  rig: Rig,
  still: readonly number[],
  lines: readonly number[],
  straight: readonly Path[],
  apart: readonly number[],
): string[] {
  const beside = new Set(lines.map((k) => rig.lines[k]!.chamber));
  for (const { members } of rig.stacks)
    members.forEach((m, k) => {
      const doors = [members[k - 1], members[k + 1]].flatMap((n) => (n?.kind === 'door' ? [n.index] : []));
      const atEnd = straight.some((path) => doors.some((d) => d === path.doors[0] || d === path.doors.at(-1)));
      if (m.kind === 'chamber' && (atEnd || doors.some((d) => still.includes(d)))) beside.add(m.index);
    });
  return rig.sensors.filter((s, k) => beside.has(s.chamber) || apart.includes(k)).map((s) => s.name);
}
