/** Comments that belong to a statement. */
import { Comment, Newline, type RigToken } from './tokens';

/** Comments for the program: they fold, or allow a finding. */
const FOR_THE_PROGRAM = /^\s*#+\s*(?:(?:end)?region\b|allow(?:-file)?\s+[a-z]+\/)/;

const commentText = (token: RigToken): string => token.image.replace(/^#+ ?/, '').trimEnd();

/**
 * The comment lines directly above a statement (no blank line between) and the comment at the end of its first line, without
 * their `#`. `index` is that of the statement's keyword.
 */
export function statementDocumentation(tokens: readonly RigToken[], index: number): string {
  if (index < 0) return '';
  const above: string[] = [];
  let at = index - 1;
  while (tokens[at]?.tokenType === Newline && tokens[at - 1]?.tokenType === Comment) {
    const before = tokens[at - 2];
    if (before && before.tokenType !== Newline) break;
    const comment = tokens[at - 1]!;
    if (!FOR_THE_PROGRAM.test(comment.image)) above.unshift(commentText(comment));
    at -= 2;
  }
  const own = lineComment(tokens, index);
  return [...above, ...(own === null ? [] : [own])].join('\n');
}

/** How far on its line a statement's own comment may be; keeps a file of one endless line linear. */
const REACH = 400;

function lineComment(tokens: readonly RigToken[], index: number): string | null {
  const end = Math.min(tokens.length, index + REACH);
  let at = index;
  while (at < end && tokens[at]!.tokenType !== Newline) {
    if (tokens[at]!.tokenType === Comment)
      return FOR_THE_PROGRAM.test(tokens[at]!.image) ? null : commentText(tokens[at]!);
    at++;
  }
  return null;
}
