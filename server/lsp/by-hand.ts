/** Answers about values set by hand. Trials, and what moves an edge, are kept with the version of the document they belong to. */
import { choicesFor, heldAt, stopsFor, whyNotByHand, type Choice, type Held } from '../core/document/by-hand/hold';
import { createTrial, type Trial } from '../core/document/by-hand/trial';
import { ghostsAt, isLoose, worstAt, worstStopsFor } from '../core/document/by-hand/worst';
import { triedWork, valueEdits } from '../core/document/by-hand/values';
import type { RigDocument } from '../core/document/document';
import type { TextEdit } from '../core/model/problem';
import { caution } from '../core/report/caution';
import { patiently, type Work } from '../core/work/work';
import type { ByHandAnswer, ByHandParams } from '../protocol/by-hand';
import type { Urgency } from './turns';
import type { Opened } from './workspace';

interface Kept {
  readonly trial: Trial;
  readonly choices: Map<string, readonly Choice[]>;
  /** Questions about it so far, without those about worst cases of stops; and those that begin with another edge or value, or end with it. */
  asked: number;
  taken: number;
}

const keptOf = new WeakMap<RigDocument, Map<string, Kept | null>>();

/** In steps; needs the text resolved. */
export function* byHand({ document, settings }: Opened, params: ByHandParams): Work<ByHandAnswer | null> {
  if (document.version !== params.version) return null;
  const kept = trialFor(document, params.rig, settings.constants);
  if (!kept) return null;
  if (params.ask !== 'worst stops') kept.asked++;
  if (['take', 'stops', 'keep'].includes(params.ask)) kept.taken++;
  if (params.ask === 'try') {
    const edits = valueEdits(document, params.rig, params.values);
    const options = { caution: caution(), stores: params.stores ? 'shown' : 'hidden' } as const;
    const found = yield* triedWork(kept.trial, edits, options);
    return found && { kind: 'tried', ...found };
  }
  if (params.ask === 'write') return editsAnswer(valueEdits(document, params.rig, params.values));
  return yield* heldAnswer(kept, params);
}

type HeldParams = Exclude<ByHandParams, { ask: 'try' | 'write' }>;

/** Answers about an edge in the hand. */
function* heldAnswer(kept: Kept, params: HeldParams): Work<ByHandAnswer | null> {
  const held: Held = { trial: kept.trial, picture: params.picture, edge: params.edge };
  const refused = yield* patiently(() => whyNotByHand(held));
  if (refused !== null) return { kind: 'choices', choices: [], why: refused, isLoose: false };
  const choices = yield* patiently(() => choicesOf(kept, held));
  if (params.ask === 'take') {
    const list = choices.map(({ label, literal, slope }) => ({ label, text: literal.text, slope }));
    const facts = yield* kept.trial.factsWork([]);
    return { kind: 'choices', choices: list, why: null, isLoose: facts !== null && isLoose(facts) };
  }
  const choice = choices[params.choice];
  if (!choice) return null;
  switch (params.ask) {
    case 'stops':
      return { kind: 'stops', stops: yield* stopsFor(held, choice) };
    case 'worst stops': {
      const stops = yield* latest(kept, 'taken', worstStopsFor(held, choice));
      return stops && { kind: 'stops', stops };
    }
    case 'worst': {
      const found = yield* latest(kept, 'asked', worstAt(held, choice, params.t));
      return found && { kind: 'worst', ...found };
    }
    case 'ghosts': {
      const timing = yield* latest(kept, 'asked', ghostsAt(held, choice, params.t));
      return timing && { kind: 'ghosts', timing };
    }
    case 'move':
    case 'keep': {
      const at = yield* patiently(() => heldAt(held, choice, params.t));
      if (!at) return null;
      if (params.ask === 'keep') return editsAnswer(at.text === choice.literal.text ? [] : [at.edit]);
      const { t, held: why, text, timing, changes, differences } = at;
      return { kind: 'moved', t, held: why, text, timing, changes, differences };
    }
  }
}

/** Work that is given up, for null, as soon as anything else is counted. */
function* latest<T>(kept: Kept, count: 'asked' | 'taken', work: Work<T | null>): Work<T | null> {
  const mine = kept[count];
  while (kept[count] === mine) {
    const step = work.next();
    if (step.done) return step.value;
    yield;
  }
  return null;
}

/** Whoever holds an edge waits for what is at nominal times, not for what is within tolerance. */
export const byHandUrgency = ({ ask }: ByHandParams): Urgency =>
  ask === 'worst' || ask === 'ghosts' || ask === 'worst stops' ? 'rest' : 'caret';

function trialFor(document: RigDocument, rig: string, constants: Readonly<Record<string, string>>): Kept | null {
  let byRig = keptOf.get(document);
  if (!byRig) keptOf.set(document, (byRig = new Map()));
  let kept = byRig.get(rig);
  if (kept === undefined) {
    const trial = createTrial(document, rig, { constants });
    byRig.set(rig, (kept = trial && { trial, choices: new Map(), asked: 0, taken: 0 }));
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
