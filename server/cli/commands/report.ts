/** `caisson report`: one page to hand on, that works offline. */
import { createHash } from 'node:crypto';
import { semanticTokens } from '../../core/features/semantic-tokens';
import { proofJson } from '../../core/report/proof-report';
import { pageHtml, SORT_SCRIPT } from '../../core/report/page/html';
import { reportPage } from '../../core/report/report-page';
import { ofRig } from '../../core/document/allowances';
import { allowedIn } from '../../core/document/allowed-in';
import { faultReport } from '../../core/readings/faults';
import { settingSlack } from '../../core/report/sheet/setting-slack';
import { openInputs } from '../inputs';
import { UsageError } from '../io';
import { beginProof, BUDGET_HELP, BUDGET_OPTIONS, budgetOf, runProof } from '../proving';
import { selectRig } from '../select';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { refusal } from './refusal';

export const report: Command = {
  name: 'report',
  words: 'FILE|-',
  summary: 'one HTML page to hand on: text, pictures, tables, verdicts, build sheet',
  help: [
    '--out FILE              the page to write (.html)',
    '--prove                 prove what must always or never be, and put it in',
    ...BUDGET_HELP,
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    ...BUDGET_OPTIONS,
    out: { type: 'string', short: 'o' },
    prove: { type: 'boolean' },
    rig: { type: 'string' },
  },
  run(io, words, values) {
    const out = stringOf(values, 'out') ?? '-';
    if (out !== '-' && !/\.html?$/.test(out))
      throw new UsageError(`--out wants a name that ends in .html, not ${out}.`);
    const budget = budgetOf(values);
    const inputs = openInputs(io, words, inputOptions(values));
    const { facts, input } = selectRig(inputs, stringOf(values, 'rig'));
    const refused = refusal(io, input, facts.rig);
    if (refused !== null) {
      io.err(`No report: ${refused}\n`);
      return 1;
    }
    const proof = values['prove'] ? proofJson(runProof(io, beginProof(facts.rig), budget)) : null;
    const page = reportPage({
      facts,
      problems: ofRig(
        input.document.problems().filter((p) => p.at.uri === input.document.uri),
        facts.rig,
        input.document.resolved().rigs,
      ),
      source: input.document.text,
      colours: semanticTokens(input.document),
      proof: proof && proof.results.map((r) => [r.property, r.verdict, r.reason ?? ''] as const),
      sheet: {
        slack: settingSlack(facts),
        faults: faultReport(facts),
        allowed: allowedIn(input.document, facts.rig),
      },
    });
    const sortScriptHash = createHash('sha256').update(SORT_SCRIPT).digest('base64');
    const data = pageHtml(page, { sortScriptHash, contents: true });
    if (out === '-') io.out(data);
    else io.write(out, data);
    return 0;
  },
};
