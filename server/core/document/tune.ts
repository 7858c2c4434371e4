/** Tuning a rig of a document: from its text to a suggestion, and the edits that write it. */
import { timeEdits, writtenValue } from '../choose/edit';
import { finish, type Work } from '../work/work';
import { tuneAnswer, type AnswerOptions, type TuneAnswer } from '../choose/tune/answer';
import type { TuneProblem } from '../choose/tune/problem';
import { preferenceProblem, requirementProblem } from '../metrics/arguments';
import type { TextEdit } from '../model/problem';
import type { Rig } from '../model/rig';
import type { RigDocument } from './document';
import {
  readerOf,
  statementProblem,
  textAt,
  tuneProblemWork,
  type FileProblem,
  type FreeOptions,
} from './tune-problem';
import { say } from '../words/say';

export type Suggestion =
  | {
      readonly ok: true;
      readonly answer: TuneAnswer;
      readonly edits: readonly TextEdit[];
      readonly problem: TuneProblem;
    }
  /** One sentence. */
  | Extract<FileProblem, { readonly ok: false }>;

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
    return {
      ok: false,
      message: say`${rig.name} cannot be tuned before its text is correct: ${firstMistake(document, rig)}`,
    };
  const unsound = unsoundAim(document, rig);
  if (unsound !== null) return { ok: false, message: unsound };
  if (rig.requirements.length === 0 && rig.preferences.length === 0)
    return { ok: false, message: say`${rig.name} states nothing to tune for: write a require or a prefer statement.` };
  const made = yield* tuneProblemWork(document, index, free);
  if (!made.ok) return made;
  const answer = yield* tuneAnswer(made.problem, options);
  if (!answer) return { ok: false, message: say`${rig.name} cannot be computed with its present values.` };
  const values = answer.chosen.map(({ value }) => value);
  const edits = answer.tuned.best.missing > 0 ? [] : chosenEdits(document, made, values);
  return { ok: true, answer, edits, problem: made.problem };
}

/** What the first error in the rig says, with its line. */
function firstMistake(document: RigDocument, rig: Rig): string {
  const mistake = statementProblem(document, rig, () => true);
  if (mistake === null) return say`parts of it could not be read.`;
  const line = document.text.slice(0, mistake.start).split('\n').length;
  return say`line ${line}: ${mistake.message}`;
}

/** What is wrong with a requirement or a preference, in one sentence: an aim that cannot be read must not be passed over. */
function unsoundAim(document: RigDocument, rig: Rig): string | null {
  const unread = statementProblem(document, rig, (s) => s.kind === 'require' || s.kind === 'prefer');
  if (unread) {
    const { start, end } = unread.statement.span;
    return `${document.text.slice(start, end).replace(/\s+/g, ' ')}: ${unread.message}`;
  }
  const stated = [
    ...rig.preferences.map((p) => ({ text: `prefer ${p.text}`, problem: preferenceProblem(rig, p) })),
    ...rig.requirements.map((r) => ({ text: `require ${r.text}`, problem: requirementProblem(rig, r) })),
  ];
  const wrong = stated.find(({ problem }) => problem !== null);
  if (!wrong) return null;
  const { text, problem } = wrong;
  return `${text}: ${problem === null || problem === 'silent' ? say`its arguments cannot be read.` : problem.message}`;
}

/** The edits that write values of a problem, in the order of its variables, into the text that it comes from. */
export function chosenEdits(
  document: RigDocument,
  { places, problem }: Pick<FileProblem & { readonly ok: true }, 'places' | 'problem'>,
  values: readonly number[],
): TextEdit[] {
  const read = readerOf(document);
  return values.flatMap((value, k) => {
    if (value === problem.variables[k]!.now) return [];
    const place = places[k]!;
    if (place.kind === 'preset') return timeEdits(document.resolved(), read, place.literal, value) ?? [];
    const { choosable } = place;
    return [{ at: choosable.valueAt, text: writtenValue(textAt(document, choosable.valueAt), value, choosable) }];
  });
}
