/** Tokenises texts with the colouring grammars, as editors do. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { createOnigScanner, createOnigString, loadWASM } from 'vscode-oniguruma';
import { INITIAL, parseRawGrammar, Registry } from 'vscode-textmate';

const ROOT = join(__dirname, '../..');
const load = createRequire(__filename);
const read = (file: string) => readFileSync(join(ROOT, 'grammar/textmate', file), 'utf8');

/** A bare Markdown grammar: what the injection needs to be injected into. */
const MARKDOWN = JSON.stringify({
  scopeName: 'text.html.markdown',
  patterns: [{ match: '^#.*$', name: 'markup.heading' }],
});

const GRAMMARS: Record<string, () => string> = {
  'source.rig': () => read('rig.tmLanguage.json'),
  'markdown.rig.codeblock': () => read('markdown-rig.tmLanguage.json'),
  'text.html.markdown': () => MARKDOWN,
};

const registry = new Registry({
  onigLib: loadWASM(new Uint8Array(readFileSync(load.resolve('vscode-oniguruma/release/onig.wasm'))).buffer).then(
    () => ({
      createOnigScanner,
      createOnigString,
    }),
  ),
  loadGrammar: (scope) =>
    Promise.resolve(GRAMMARS[scope] ? parseRawGrammar(GRAMMARS[scope]!(), `${scope}.json`) : null),
  getInjections: (scope) => (scope === 'text.html.markdown' ? ['markdown.rig.codeblock'] : []),
});

/** A coloured piece of a text; `scopes` from the outermost to the innermost, the language's own left out. */
export interface Coloured {
  readonly text: string;
  readonly start: number;
  readonly scopes: readonly string[];
}

/** All pieces of a text but blanks, in order. */
export async function colour(text: string, scope = 'source.rig'): Promise<Coloured[]> {
  const grammar = (await registry.loadGrammar(scope))!;
  const pieces: Coloured[] = [];
  let stack = INITIAL;
  let offset = 0;
  for (const line of text.split('\n')) {
    const result = grammar.tokenizeLine(line, stack);
    stack = result.ruleStack;
    for (const { startIndex, endIndex, scopes } of result.tokens) {
      const piece = line.slice(startIndex, endIndex);
      if (piece.trim() === '') continue;
      pieces.push({ text: piece.trim(), start: offset + startIndex + piece.search(/\S/), scopes: scopes.slice(1) });
    }
    offset += line.length + 1;
  }
  return pieces;
}

/** `text:innermost scope without .rig`, for short expectations. */
export async function colours(text: string): Promise<string[]> {
  return (await colour(text)).map((p) => `${p.text}:${(p.scopes[p.scopes.length - 1] ?? '').replace(/\.rig$/, '')}`);
}
