/**
 * Parsing and full analysis (all phases, every check) of rigs of 100, 1,000 and 10,000 lines, warm, in this process, beside
 * vscode-css-languageservice parsing and validating a style sheet of the same length in the same run. `from nothing`: every rig anew;
 * `after an edit`: one number changed in one rig, the rest taken over, as an editor does it.
 */
import { getCSSLanguageService } from 'vscode-css-languageservice';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { parse } from '../../grammar/src/api';
import { createDocument, type RigDocument } from '../../server/core/document/document';
import { median, rigText, sheetText } from './texts';

const TARGETS: Readonly<Record<number, number>> = { 100: 1, 1000: 10, 10_000: 100 };
const css = getCSSLanguageService();

function warm(rounds: number, work: (round: number) => void): number {
  for (let k = 0; k < Math.min(rounds, 5); k++) work(-1 - k);
  return median(
    Array.from({ length: rounds }, (_, k) => {
      const start = performance.now();
      work(k);
      return performance.now() - start;
    }),
  );
}

const open = (text: string, version: number, previous?: RigDocument): RigDocument => {
  const document = createDocument({ uri: 'file:///bench.rig', version, text }, () => undefined, {}, previous);
  document.problems();
  return document;
};

/** The text with another preset in its first rig, another at each round. */
const edited = (text: string, round: number): string =>
  text.replace('let settle = 1.8 s', `let settle = 1.${40 + (Math.abs(round) % 9)} s`);

let before: { lines: number; full: number } | null = null;
for (const lines of [100, 1000, 10_000]) {
  const text = rigText(lines);
  const rounds = lines === 10_000 ? 9 : 41;
  const parsed = warm(rounds, () => void parse(text));
  const full = warm(lines === 10_000 ? 5 : 21, (k) => void open(text, k));
  let last = open(text, 0);
  const edit = warm(rounds, (k) => {
    last = open(edited(text, k), k + 100, last);
  });
  const sheet = sheetText(lines);
  const peer = warm(rounds, (k) => {
    const document = TextDocument.create('file:///a.css', 'css', k, sheet);
    css.doValidation(document, css.parseStylesheet(document));
  });
  const growth = before ? `; growth ${(full / before.full / (lines / before.lines)).toFixed(2)} (1: linear)` : '';
  console.log(
    `${lines} lines: parse ${parsed.toFixed(2)} ms; full from nothing ${full.toFixed(1)} ms, after an edit ${edit.toFixed(1)} ms (target ${TARGETS[lines]} ms); ` +
      `style sheet ${peer.toFixed(1)} ms, ratio ${(edit / peer).toFixed(2)} after an edit${growth}`,
  );
  before = { lines, full };
}
