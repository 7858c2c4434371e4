/** How far each setting may be off, alone, before a requirement breaks: asked of the tolerance engine, nothing judged here. */
import { requirementName } from '../../metrics/evaluate';
import { onStrokes, settingLimits } from '../../metrics/within-tolerance';
import type { RigFacts } from '../../run/facts';
import { formatTime } from '../../units/units';
import { text, type PageBlock } from '../page/page';
import { say } from '../../words/say';

/** How far a single time is moved, µs; what stands more is free. */
const REACH = 60_000_000;
/** Runs of the engine for one setting and one requirement. */
const RUNS = 60;

/** `up to 400 ms longer (gap(…) >= 100 ms); up to 230 ms shorter (overlap(…) >= 1 s)` by name of the block; settings that may be off as they like say so, and those that the budget did not reach. `edges`: of all runs together. */
export function settingSlack(facts: RigFacts, edges?: number): Map<string, string> {
  const closest = new Map<string, { up?: Found; down?: Found; open?: boolean; unsearched?: boolean }>();
  for (const { requirement, parameter, shorter, longer, complete, searched } of settingLimits(
    facts,
    REACH,
    RUNS,
    edges,
  )) {
    const name = facts.rig.network.elements[parameter.index]!.name;
    const found = closest.get(name) ?? {};
    if (!complete) found.open = true;
    if (!searched) found.unsearched = true;
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
  const asked = onStrokes(facts).length > 0;
  for (const { name, preset } of facts.rig.network.elements) {
    if (preset === null) continue;
    const { up, down, open = false, unsearched = false } = closest.get(name) ?? {};
    const limits = unsearched
      ? say`not searched: the search ended with its budget`
      : limitText(up, down, open, preset.nominal);
    texts.set(name, asked ? limits : say`no requirement could be asked`);
  }
  return texts;
}

/** Both sides, so that none is left to be guessed. */
function limitText(up: Found | undefined, down: Found | undefined, open: boolean, preset: number): string {
  const none = open ? say`none found` : say`no requirement limits it`;
  if (!up && !down) return none;
  const longer = up ? foundText(up) : `longer: ${none}`;
  const shorter = down ? foundText(down) : `shorter: ${none}`;
  return preset === 0 && !down ? longer : `${longer}; ${shorter}`;
}

/** Requirements that the column of what settings may be off by says nothing of, with the reason. */
export function notSearched(facts: RigFacts): PageBlock[] {
  const asked = new Set(onStrokes(facts));
  const left = facts.rig.requirements.filter((r) => !asked.has(r)).map(requirementName);
  return [
    text(
      say`How far a setting may be off is of this one alone, with all other times as stated, and looked for up to ${formatTime(REACH)} either way.`,
    ),
    ...(left.length === 0
      ? []
      : [
          text(
            say`It does not answer for requirements on the flow or on a scenario, nor for one that is not met as stated: ${left.join('; ')}.`,
          ),
        ]),
  ];
}

interface Found {
  /** Smallest change that breaks it, µs, signed. */
  readonly change: number;
  readonly by: string;
}

/** What still holds, on the safe side in whole milliseconds: nobody sets microseconds. */
function foundText({ change, by }: Found): string {
  const held = Math.abs(change) - 1;
  const shown = formatTime(held < 1_000 ? held : Math.floor(held / 1_000) * 1_000);
  return change > 0 ? say`up to ${shown} longer (${by})` : say`up to ${shown} shorter (${by})`;
}
