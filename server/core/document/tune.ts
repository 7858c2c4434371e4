/** Tuning a rig of a document: from its text to a suggestion, and the edits that write it. */
import { rewritten, timeEdits } from '../choose/edit';
import { finish, type Work } from '../work/work';
import { tuneAnswer, type AnswerOptions, type TuneAnswer } from '../choose/tune/answer';
import type { TuneProblem } from '../choose/tune/problem';
import { preferenceProblem } from '../metrics/arguments';
import type { TextEdit } from '../model/problem';
import type { RigDocument } from './document';
import { tuneProblem, valueLiteral, type FreeOptions, type Place } from './tune-problem';

export type Suggestion =
  | {
      readonly ok: true;
      readonly answer: TuneAnswer;
      readonly edits: readonly TextEdit[];
      readonly problem: TuneProblem;
    }
  /** One sentence. */
  | { readonly ok: false; readonly message: string };

/** Tunes one rig (index into the document's rigs). `edits` is empty where nothing changes or nothing holds. */
export const suggest = (...asked: Parameters<typeof suggestWork>): Suggestion => finish(suggestWork(...asked));

/** The same in steps. */
export function* suggestWork(
  document: RigDocument,
  index: number,
  free: FreeOptions,
  options: AnswerOptions,
): Work<Suggestion> {
  const rig = document.resolved().rigs[index]!;
  if ((rig.incomplete?.length ?? 0) > 0)
    return { ok: false, message: `${rig.name} has mistakes in its control; correct them first.` };
  if (rig.requirements.length === 0 && rig.preferences.length === 0)
    return { ok: false, message: `${rig.name} states nothing to tune for: write a require or a prefer statement.` };
  for (const preference of rig.preferences) {
    const problem = preferenceProblem(rig, preference);
    const message = problem === 'silent' ? 'its arguments cannot be read.' : problem?.message;
    if (message) return { ok: false, message: `prefer ${preference.text}: ${message}` };
  }
  const made = tuneProblem(document, index, free);
  if (!made.ok) return made;
  const answer = yield* tuneAnswer(made.problem, options);
  if (!answer) return { ok: false, message: `${rig.name} cannot be computed with its present values.` };
  const edits = answer.conflict ? [] : editsOf(document, made.places, answer);
  return { ok: true, answer, edits, problem: made.problem };
}

function editsOf(document: RigDocument, places: readonly Place[], { chosen }: TuneAnswer): TextEdit[] {
  const read = (uri: string): string | undefined => (uri === document.uri ? document.text : document.readText(uri));
  return chosen.flatMap(({ variable, value }, k) => {
    if (value === variable.now) return [];
    const place = places[k]!;
    if (place.kind === 'preset') return timeEdits(document.resolved(), read, place.literal, value) ?? [];
    const { valueAt, dimension } = place.choosable;
    const written = read(valueAt.uri)?.slice(valueAt.start, valueAt.end) ?? '';
    const text = (dimension === 'time' ? rewritten(written, value) : null) ?? valueLiteral(value, dimension);
    return [{ at: valueAt, text }];
  });
}
