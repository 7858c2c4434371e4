/** Answers about values set by hand. Trials, and what moves an edge, are kept with the version of the document they belong to. */
import { choicesFor, heldAt, stopsFor, whyNotByHand, type Choice, type Held } from '../core/document/by-hand/hold';
import { createTrial, type Trial } from '../core/document/by-hand/trial';
import { triedWork, valueEdits } from '../core/document/by-hand/values';
import type { RigDocument } from '../core/document/document';
import type { TextEdit } from '../core/model/problem';
import { caution } from '../core/report/caution';
import { patiently, type Work } from '../core/work/work';
import type { ByHandAnswer, ByHandParams } from '../protocol/by-hand';
import type { Opened } from './workspace';

interface Kept {
  readonly trial: Trial;
  readonly choices: Map<string, readonly Choice[]>;
}

const keptOf = new WeakMap<RigDocument, Map<string, Kept | null>>();

/** In steps; needs the text resolved. */
export function* byHand({ document, settings }: Opened, params: ByHandParams): Work<ByHandAnswer | null> {
  if (document.version !== params.version) return null;
  const kept = trialFor(document, params.rig, settings.constants);
  if (!kept) return null;
  if (params.ask === 'try') {
    const edits = valueEdits(document, params.rig, params.values);
    const options = { caution: caution(), stores: params.stores ? 'shown' : 'hidden' } as const;
    const found = yield* triedWork(kept.trial, edits, options);
    return found && { kind: 'tried', ...found };
  }
  if (params.ask === 'write') return editsAnswer(valueEdits(document, params.rig, params.values));
  const held: Held = { trial: kept.trial, picture: params.picture, edge: params.edge };
  const refused = yield* patiently(() => whyNotByHand(held));
  if (refused !== null) return { kind: 'choices', choices: [], why: refused };
  const choices = yield* patiently(() => choicesOf(kept, held));
  if (params.ask === 'take')
    return {
      kind: 'choices',
      choices: choices.map(({ label, literal, slope }) => ({ label, text: literal.text, slope })),
      why: null,
    };
  const choice = choices[params.choice];
  if (!choice) return null;
  if (params.ask === 'stops') return { kind: 'stops', stops: yield* stopsFor(held, choice) };
  const at = yield* patiently(() => heldAt(held, choice, params.t));
  if (!at) return null;
  if (params.ask === 'keep') return editsAnswer(at.text === choice.literal.text ? [] : [at.edit]);
  const { t, held: why, text, timing, changes, differences } = at;
  return { kind: 'moved', t, held: why, text, timing, changes, differences };
}

function trialFor(document: RigDocument, rig: string, constants: Readonly<Record<string, string>>): Kept | null {
  let byRig = keptOf.get(document);
  if (!byRig) keptOf.set(document, (byRig = new Map()));
  let kept = byRig.get(rig);
  if (kept === undefined) {
    const trial = createTrial(document, rig, { constants });
    byRig.set(rig, (kept = trial && { trial, choices: new Map() }));
  }
  return kept;
}

function choicesOf({ choices }: Kept, held: Held): readonly Choice[] {
  const key = `${held.picture} ${held.edge}`;
  let found = choices.get(key);
  if (!found) choices.set(key, (found = choicesFor(held)));
  return found;
}

function editsAnswer(edits: readonly TextEdit[]): ByHandAnswer {
  return {
    kind: 'edits',
    edits: edits.map(({ at, text }) => ({ ...at, text })),
    text: edits.map((e) => e.text).join(', '),
  };
}
