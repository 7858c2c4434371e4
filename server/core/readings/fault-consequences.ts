/** What follows from a fault: paths that stand open, requirements that are not met, sensors that should notice. */
import { evaluateRequirement } from '../metrics/evaluate';
import { metricNamed } from '../metrics/registry';
import type { Rig } from '../model/rig';
import type { Path } from '../model/stages';
import { analyseRig } from '../run/analyse';
import type { RigFacts } from '../run/facts';
import { pathOpen } from '../timing/course';
import type { Trace } from '../timing/trace';

/** Paths that stand open with a fault although they do not in the sound rig. */
export function straightPaths({ rig, timing }: RigFacts, sound: readonly Trace[], seen: readonly Trace[]): Path[] {
  const paths = timing.strokes[0]?.straightThrough.map((s) => s.path) ?? [];
  const open = (traces: readonly Trace[], path: (typeof paths)[number]): boolean =>
    traces.some((t) => pathOpen(rig, t, path).length > 0);
  return paths.filter((path) => open(seen, path) && !open(sound, path));
}

/** Requirements about times alone; those about contents are not judged here. */
export function brokenBy(facts: RigFacts, faulty: Rig): string[] {
  const mine = facts.rig.requirements.filter((r) => {
    const metric = metricNamed(r.metric);
    return metric !== undefined && metric.kind !== 'flow' && evaluateRequirement(facts, r).state === 'met';
  });
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
