/** How far each setting may be off, alone, before a requirement breaks: asked of the tolerance engine, nothing judged here. */
import { requirementName } from '../../metrics/evaluate';
import { settingLimits } from '../../metrics/within-tolerance';
import type { RigFacts } from '../../run/facts';
import { formatTime } from '../../units/units';

/** How far a single time is moved, µs; what stands more is free. */
const REACH = 60_000_000;
/** Runs of the engine for one setting and one requirement. */
const RUNS = 60;

/** `up to 400 ms longer (gap(…) >= 100 ms); up to 230 ms shorter (overlap(…) >= 1 s)` by name of the block; settings that may be off as they like say so. */
export function settingSlack(facts: RigFacts): Map<string, string> {
  const closest = new Map<string, { up?: Found; down?: Found }>();
  for (const { requirement, parameter, shorter, longer } of settingLimits(facts, REACH, RUNS)) {
    const name = facts.rig.network.elements[parameter.index]!.name;
    const found = closest.get(name) ?? {};
    for (const change of [shorter, longer]) {
      if (change === null) continue;
      const side = change > 0 ? 'up' : 'down';
      const known = found[side];
      if (!known || Math.abs(change) < Math.abs(known.change))
        found[side] = { change, by: requirementName(requirement) };
    }
    closest.set(name, found);
  }
  const texts = new Map<string, string>();
  const stated = facts.rig.requirements.length > 0;
  for (const { name, preset } of facts.rig.network.elements) {
    if (preset === null) continue;
    const { up, down } = closest.get(name) ?? {};
    const parts = [up, down].flatMap((f) => (f ? [foundText(f)] : []));
    texts.set(name, parts.join('; ') || (stated ? 'no requirement limits it' : 'no requirement is stated'));
  }
  return texts;
}

interface Found {
  /** Smallest change that breaks it, µs, signed. */
  readonly change: number;
  readonly by: string;
}

function foundText({ change, by }: Found): string {
  return `up to ${formatTime(Math.abs(change) - 1)} ${change > 0 ? 'longer' : 'shorter'} (${by})`;
}
