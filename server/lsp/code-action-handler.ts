/** Registers the request for quick fixes. */
import { CodeActionKind, type CodeAction, type CodeActionParams, type Command } from 'vscode-languageserver';
import { fixAllWork, quickFixesWork, withoutFix } from '../core/features/code-actions';
import { say } from '../core/words/say';
import { FIX_ALL } from './capabilities';
import { commandActions } from './command-actions';
import * as convert from './convert';
import { toLspDiagnostic, toLspNoFix, toLspNotTried, toLspQuickFix, toLspWorkspaceEdit } from './convert-problems';
import { createWrapper, type HandlerNeeds } from './wrap';

export function registerCodeActions(needs: HandlerNeeds): void {
  const { connection, client, workspace } = needs;
  const wrap = createWrapper(needs);
  connection.onCodeAction(
    wrap<CodeActionParams, (CodeAction | Command)[]>(
      'quick fixes',
      [],
      function* ({ document, text }, params) {
        if (!client().codeActionLiterals) return [];
        const wanted = params.context.only;
        const range = convert.fromLspRange(text, params.range);
        const actions: CodeAction[] = [];
        if (wants(wanted, CodeActionKind.QuickFix)) {
          const { fixes, left } = yield* quickFixesWork(document, range);
          for (const fix of fixes) {
            const edit = toLspWorkspaceEdit(workspace, client(), fix.edits);
            const diagnostic = toLspDiagnostic(text, workspace.textOf, client(), fix.problem);
            actions.push(toLspQuickFix(fix, edit, diagnostic));
          }
          if (client().disabledActions) {
            for (const { problem, because } of withoutFix(document, range))
              actions.push(toLspNoFix(problem, because, toLspDiagnostic(text, workspace.textOf, client(), problem)));
            if (left > 0) actions.push(toLspNotTried(left));
          }
          if (client().options.preview === true) actions.push(...commandActions(needs.proofs, document, range));
        }
        if (wanted && wants(wanted, FIX_ALL)) {
          const edit = toLspWorkspaceEdit(workspace, client(), yield* fixAllWork(document));
          const isEmpty = Object.keys(edit.changes ?? {}).length + (edit.documentChanges?.length ?? 0) === 0;
          if (!isEmpty) actions.push({ title: say`Take all preferred fixes`, kind: FIX_ALL, edit });
        }
        return actions;
      },
      () => 'verdicts',
    ),
  );
}

/** Whether a client asking for these kinds (none: all) wants this one; a kind includes those below it. */
function wants(only: readonly string[] | undefined, kind: string): boolean {
  return !only || only.some((o) => o === '' || kind === o || kind.startsWith(`${o}.`));
}
