/** The build sheet of a rig of a document, as the editor shows it while the text is written. */
import type { RigDocument } from '../core/document/document';
import { allowedIn, findingsIn } from '../core/document/allowed-in';
import { isTextError } from '../core/document/problems';
import { isIncomplete } from '../core/features/lookup';
import { pageMarkdown } from '../core/report/page/markdown';
import { sheetWork } from '../core/report/sheet/sheet';
import type { Work } from '../core/work/work';
import type { SheetParams, SheetResult } from '../protocol/sheet';
import { say } from '../core/words/say';

/** What takes seconds is left to the command line: a sheet that follows the text must not keep it waiting. */
const shorter = (): string =>
  say`This sheet follows the text. How far each setting may be off and the table of single faults take longer to compute: \`caisson sheet\` has them.`;

/** In steps; needs the verdicts computed. What leads to hardware is never made from a text with errors in its control. */
export function* sheetResult(document: RigDocument, params: SheetParams): Work<SheetResult> {
  const error = document
    .problems()
    .find((p) => isTextError(p) || (p.severity === 'error' && p.code.startsWith('wire/')));
  if (error) return refused(say`The text has errors: ${error.message}`);
  const all = document.analysed();
  const facts = all.find((f) => f.rig.name === params.rig) ?? all[0];
  if (!facts) return refused(say`There is no rig in this file.`);
  const { rig } = facts;
  if (isIncomplete(rig)) return refused(say`Parts of the control could not be read.`);
  if (rig.drives.length === 0) return refused(say`${rig.name} has no control: no drive and no sequence that drives.`);
  const extras = { findings: findingsIn(document, rig), allowed: allowedIn(document, rig) };
  const page = yield* sheetWork(facts, extras);
  return {
    kind: 'sheet',
    rig: rig.name,
    markdown: `${pageMarkdown(page)}\n---\n\n${shorter()}\n`,
  };
}

const refused = (message: string): SheetResult => ({ kind: 'refused', message });
