/** Suggestions for mistyped words, as repairs. */
import { nearMatch } from '../../../grammar/src/near-match';
import type { Fix, Source } from './problem';
import { say } from '../words/say';

export interface Suggestion {
  /** ` Did you mean upper?` with its blank, or empty. */
  readonly question: string;
  readonly fixes: readonly Fix[];
}

/** The candidate that is nearest to a word (edit distance of Damerau and Levenshtein), as a question and a repair. */
export function suggest(word: string, candidates: Iterable<string>, at: Source): Suggestion {
  return suggestionOf(nearMatch(word, candidates), at);
}

export function suggestionOf(near: string | null, at: Source): Suggestion {
  if (near === null) return { question: '', fixes: [] };
  const fix: Fix = { title: say`Change to ${near}`, edits: [{ at, text: near }], preferred: true };
  return { question: say` Did you mean ${near}?`, fixes: [fix] };
}
