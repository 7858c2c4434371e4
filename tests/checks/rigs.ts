/** Text → the context that checks read; and applying a fix to the text. Presets of its fixtures: common practice, no source. */
import { parse } from '../../grammar/src/api';
import type { CheckContext } from '../../server/core/checks/check';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import type { Verdict } from '../../server/core/metrics/verdict';
import { runChecks } from '../../server/core/checks/registry';
import type { Fix, Problem } from '../../server/core/model/problem';
import { resolveFile } from '../../server/core/model/resolve';
import type { Resolution } from '../../server/core/model/resolution';
import { analyseRig } from '../../server/core/run/analyse';

const URI = 'file:///rig.rig';

export interface Looked {
  readonly text: string;
  readonly resolution: Resolution;
  /** One per rig. */
  readonly contexts: readonly CheckContext[];
  /** Of form and meaning: what is reported before any check runs. */
  readonly mistakes: readonly string[];
  /** Of the checks, all rigs together. */
  readonly problems: readonly Problem[];
}

export function look(text: string): Looked {
  const parsed = parse(text);
  const resolution = resolveFile({ uri: URI, tree: parsed.tree, text }, () => null);
  const read = (uri: string): string | undefined => (uri === URI ? text : undefined);
  const tree = (uri: string) => (uri === URI ? parsed.tree : undefined);
  const contexts = resolution.rigs.map((rig) => ({ rig, facts: analyseRig(rig), resolution, text: read, tree }));
  const mistakes = [...parsed.problems, ...resolution.problems].map((p) => `${p.code}: ${p.message}`);
  let problems: readonly Problem[] | null = null;
  return {
    text,
    resolution,
    contexts,
    mistakes,
    get problems() {
      return (problems ??= contexts.flatMap(runChecks));
    },
  };
}

/** Other tests look at what masses and tolerances say of a rig; here it counts only where it is asked for. */
const ELSEWHERE = /^(flow\/|require\/tolerance$)/;

/** Codes of warnings and errors, and of information and of other tests' codes where asked for by name; sorted, each once. */
export function codesOf(looked: Looked, ...also: readonly string[]): string[] {
  const counts = (p: Problem): boolean =>
    also.includes(p.code) || ((p.severity === 'error' || p.severity === 'warning') && !ELSEWHERE.test(p.code));
  return [...new Set(looked.problems.filter(counts).map((p) => p.code))].sort();
}

export function problemsWith(looked: Looked, code: string): Problem[] {
  return looked.problems.filter((p) => p.code === code);
}

/** The text with a fix made. */
export function applyFix(text: string, fix: Fix): string {
  const edits = [...fix.edits].sort((a, b) => b.at.start - a.at.start);
  return edits.reduce((t, e) => t.slice(0, e.at.start) + e.text + t.slice(e.at.end), text);
}

/** The text with pieces replaced; each must be there. */
export function changed(text: string, ...changes: readonly (readonly [from: string, to: string])[]): string {
  return changes.reduce((t, [from, to]) => {
    if (!t.includes(from)) throw new Error(`not in the text: ${from}`);
    return t.replace(from, to);
  }, text);
}

/**
 * A sound three-door gas bank. With 50 ms per element: start is on 0.05–0.20 s (hold cuts it off), upper is driven 0.10–1.75 s,
 * middle 0.10–2.75 s, lower 2.20–3.85 s (TON at 0.10 + 2.0 + 0.05, TOF 0.05 later; off at 2.75 + 0.05 + 1.0 + 0.05), each door
 * travels 0.3 s; hold ends at 1.75 + 10 + 0.05 = 11.80 s, so the next start comes 11.80 s after the first.
 */
export const GAS_BANK = `rig gas_bank {
  medium methane

  chamber receiver  { volume 6 m3    pressure 1.02 bar }
  chamber store     { volume 1.5 m3  pressure 1.02 bar }

  door upper   { pocket 250 L  travel 300 ms }
  door middle  { pocket 250 L  travel 300 ms }
  door lower   { pocket 250 L  travel 300 ms }

  stack receiver > upper > middle > lower > store

  controller { response 50 ms }

  switch run = on
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }

  signal start     = run and ready and not hold
  signal upper_on  = TOF(start, 1.5 s)
  signal middle_on = TOF(start, 2.5 s)
  signal lower_on  = TOF(TON(middle_on, 2 s), 1 s)
  signal hold      = TOF(upper_on, 10 s)

  drive upper  = upper_on
  drive middle = middle_on
  drive lower  = lower_on

  require overlap(upper, middle) >= 1 s
  require overlap(middle, lower) >= 50 ms
  require gap(upper, lower) >= 100 ms
  require repeat() in 10 s .. 15 s
}
`;

/** A sound lock of two doors with a sensor on either side of it. */
export const LOCK = `rig lock {
  medium air

  chamber yard  { volume 500 m3  pressure 1.01325 bar }
  chamber hall  { volume 400 m3  pressure 1.05 bar }

  door yard_door  { pocket 40 L  travel 800 ms }
  door hall_door  { pocket 40 L  travel 800 ms }

  stack yard > yard_door > hall_door > hall

  controller { response 40 ms }

  switch open_up = off
  sensor waiting on yard { pressure above 1.02 bar  clears below 1.015 bar }

  signal asked   = waiting and not pause
  signal passing = TOF(asked, 8 s)
  signal yard_on = TP(asked, 3 s)
  signal hall_on = TP(TON(passing, 5 s), 2 s)
  signal pause   = TOF(passing, 20 s)

  drive yard_door = yard_on
  drive hall_door = hall_on

  require gap(yard_door, hall_door) >= 500 ms
  require repeat() >= 20 s
}
`;

/** Problems of a text by code, as short lines to compare; hints left out. */
export function messagesOf(text: string, code: string): string[] {
  const looked = look(text);
  if (looked.mistakes.some((m) => !m.startsWith('name/unused'))) throw new Error(looked.mistakes.join('\n'));
  return problemsWith(looked, code).map((p) => p.message);
}

/** The verdict on one more requirement of the (first) rig of a text that ends with its closing brace. */
export function verdictOf(text: string, requirement: string): Verdict {
  const looked = look(text.replace(/\n\}\n$/, `\n  require ${requirement}\n}\n`));
  const { rig, facts } = looked.contexts[0]!;
  return evaluateRequirement(facts, rig.requirements.at(-1)!);
}
