/** Picks rigs, triggers and scenarios that options name, with a sentence that lists what there is. */
import type { RigFacts } from '../core/run/facts';
import type { Rig, Scenario } from '../core/model/rig';
import type { StrokeFacts } from '../core/timing/facts';
import type { Input } from './inputs';
import { isTextError } from '../core/document/problems';
import { UsageError } from './io';

export interface RigInput {
  readonly input: Input;
  readonly facts: RigFacts;
}

/** All rigs of the inputs, or the one that `--rig` names. */
export function selectRigs(inputs: readonly Input[], name: string | undefined): RigInput[] {
  const all = inputs.flatMap((input) => input.document.analysed().map((facts) => ({ input, facts })));
  if (name === undefined) return all;
  const found = all.filter((r) => r.facts.rig.name === name.normalize('NFC'));
  if (found.length === 0)
    throw new UsageError(`There is no rig ${name}; there ${listing(all.map((r) => r.facts.rig.name))}.`);
  return found;
}

/** That there is no rig in what was read, with the first error of its text where that may be why. */
export function noRig(inputs: readonly Input[]): string {
  const [first] = inputs;
  const error = first?.document.textProblems().find(isTextError);
  if (inputs.length !== 1 || !first) return `There is no rig in these ${inputs.length} files.`;
  return error ? `There is no rig in ${first.path}: ${error.message}` : `There is no rig in ${first.path}.`;
}

/** Rigs of the inputs as by `selectRigs`, at least one. */
export function someRigs(inputs: readonly Input[], name: string | undefined): RigInput[] {
  const found = selectRigs(inputs, name);
  if (found.length === 0) throw new UsageError(noRig(inputs));
  return found;
}

/** Exactly one rig; several need `--rig`. */
export function selectRig(inputs: readonly Input[], name: string | undefined): RigInput {
  const found = selectRigs(inputs, name);
  if (found.length === 0) throw new UsageError(noRig(inputs));
  if (found.length > 1)
    throw new UsageError(
      `There are several rigs; choose one with --rig: there ${listing(found.map((r) => r.facts.rig.name))}.`,
    );
  return found[0]!;
}

export function selectScenario(rig: Rig, name: string | undefined): Scenario | null {
  if (name === undefined) return null;
  const found = rig.scenarios.find((s) => s.name === name.normalize('NFC'));
  if (!found)
    throw new UsageError(
      `The rig ${rig.name} has no scenario ${name}; there ${listing(rig.scenarios.map((s) => s.name))}.`,
    );
  return found;
}

/** The stroke of the sensor named, or the first one. */
export function selectStroke(facts: RigFacts, sensor: string | undefined): StrokeFacts | null {
  const strokes = facts.timing.strokes;
  if (sensor === undefined) return strokes[0] ?? null;
  const nameOf = (s: StrokeFacts): string => s.trigger.name;
  const found = strokes.find((s) => nameOf(s) === sensor.normalize('NFC'));
  if (!found) throw new UsageError(`The sensor ${sensor} starts no stroke; there ${listing(strokes.map(nameOf))}.`);
  return found;
}

function listing(names: readonly string[]): string {
  if (names.length === 0) return 'is none';
  return names.length === 1 ? `is ${names[0]}` : `are ${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}`;
}
