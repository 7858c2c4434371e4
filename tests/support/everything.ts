/** Everything that is computed of a text, one after the other, with small budgets: for fuzzing, where only that it ends well counts. */
import { formatText } from '../../grammar/src/api';
import { createDocument, type RigDocument } from '../../server/core/document/document';
import { computing } from '../../server/core/document/needs';
import { timingModels } from '../../server/core/diagram/timing/model';
import { renderTimingSvg } from '../../server/core/diagram/timing/svg';
import { hoverAt } from '../../server/core/features/hover';
import { lenses } from '../../server/core/features/code-lens';
import { suggestionsAt } from '../../server/core/features/completion';
import { quickFixes } from '../../server/core/features/code-actions';
import { isIncomplete } from '../../server/core/features/lookup';
import { proofReport } from '../../server/core/report/proof-report';
import { flowJson } from '../../server/core/report/flow-json';
import { flowTable } from '../../server/core/report/flow-table';
import { timingJson } from '../../server/core/report/timing-json';
import { proveRig } from '../../server/core/run/prove-rig';

/** Successors that a proof may follow. */
const PROOF_STEPS = 40;

/** Told before each step of work, which names what is being computed. */
export type Watch = (phase: string) => void;

/** Computes everything of a text and gives every word that was written about it. `places`: offsets at which an editor asks. */
export function everythingOf(text: string, places: readonly number[], watch: Watch = () => undefined): string {
  watch('parse');
  const document = createDocument({ uri: 'file:///fuzz.rig', version: 1, text }, () => undefined);
  document.parsed();
  watch('resolve');
  document.resolved();
  const words: string[] = [];
  follow(document.work(), 'check', watch);
  follow(computing(document, 'flow'), 'flow', watch);
  watch('read');
  words.push(...document.problems().map((p) => p.message));
  words.push(...lenses(document).map((lens) => lens.title));
  for (const facts of document.analysed()) {
    if (isIncomplete(facts.rig)) continue;
    watch('report');
    words.push(JSON.stringify(timingJson(facts)), JSON.stringify(flowJson(facts)), ...flowTable(facts));
    watch('picture');
    words.push(...timingModels(facts).map((model) => renderTimingSvg(model, { look: 'light' })));
    words.push(...proofOf(facts.rig, watch));
  }
  watch('format');
  words.push(formatText(text).reason ?? '');
  for (const place of places) words.push(...askedAt(document, place, watch));
  watch('end');
  return words.join('\n');
}

function follow(work: Generator<unknown, unknown, void>, phase: string, watch: Watch): void {
  do watch(phase);
  while (!work.next().done);
}

function proofOf(rig: Parameters<typeof proveRig>[0], watch: Watch): readonly string[] {
  watch('prove');
  const proved = proveRig(rig);
  for (let k = 0; k < PROOF_STEPS; k++) {
    watch('prove');
    if (proved.proof.run(1)) break;
  }
  watch('prove');
  proved.proof.giveUp({ budget: 'the budget of the test', option: '--states' });
  return proofReport(proved);
}

function askedAt(document: RigDocument, place: number, watch: Watch): readonly string[] {
  const offset = place % (document.text.length + 1);
  const at = { start: offset, end: offset };
  watch('editor');
  const hover = hoverAt(document, offset, { causes: true });
  const options = { snippets: true, importable: [], afterBlank: false };
  const found = suggestionsAt(document, offset, options);
  return [hover?.text ?? '', ...found.map((s) => s.label), ...quickFixes(document, at).map((fix) => fix.title)];
}
