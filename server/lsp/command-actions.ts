/** Quick fixes that call a command of the client: it shows something, or asks for more than an edit. */
import { CodeActionKind, type CodeAction } from 'vscode-languageserver';
import type { Span } from '../../grammar/src/ast';
import type { RigDocument } from '../core/document/document';
import { tunable } from '../core/features/code-actions';
import { SHOW_PICTURE_COMMAND } from '../protocol/messages';
import { TUNE_COMMAND } from '../protocol/suggestion';
import type { Proofs } from './proofs';
import { say } from '../core/words/say';

/** For clients that have the preview. Needs the checked phase. */
export function commandActions(proofs: Proofs, document: RigDocument, range: Span): CodeAction[] {
  return [...examplesAt(proofs, document, range), ...tuningAt(document, range)];
}

/** The way from a refuted property to its counter-example, played in the preview. */
function examplesAt(proofs: Proofs, document: RigDocument, range: Span): CodeAction[] {
  return document.resolved().rigs.flatMap((rig) => {
    const examples = proofs.mark(document, rig.name)?.examples ?? [];
    const touched = examples.filter(({ at }) => at.start <= range.end && at.end >= range.start);
    return touched.map(({ picture, property }) => {
      const title = say`Show the counter-example to ${property}`;
      const command = { title, command: SHOW_PICTURE_COMMAND, arguments: [document.uri, rig.name, picture] };
      return { title, kind: CodeActionKind.QuickFix, command };
    });
  });
}

/** The way from a requirement that fails to values with which it may hold. */
function tuningAt(document: RigDocument, range: Span): CodeAction[] {
  return tunable(document, range).map(({ rig, count }) => {
    const one = count === 1 ? say`Tune 1 constant of ${rig}` : say`Tune ${count} constants of ${rig}`;
    const title = count === 0 ? say`Tune all presets of ${rig}` : one;
    const free = count === 0 ? 'presets' : 'ranges';
    return {
      title,
      kind: CodeActionKind.QuickFix,
      command: { title, command: TUNE_COMMAND, arguments: [document.uri, rig, free] },
    };
  });
}
