/** The bundle of each language has every text that is said, and no other; none is said past it. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import * as ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { marks } from './marks';
import { TABLE_TEXTS } from './tables';
import { isSay, isTranslate, parse, placeOf, ROOT, saidIn, sourceFiles, walk } from './sources';

const FOLDER = 'client/l10n';
const client = sourceFiles('client/src');
const page = sourceFiles('client/page');
const { said, unreadable } = saidIn([...client, ...page, ...sourceFiles('server', 'grammar/src')]);
const languages = readdirSync(join(ROOT, FOLDER)).flatMap((f) => /^bundle\.l10n\.([\w-]+)\.json$/.exec(f)?.[1] ?? []);
const manifest = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as Record<string, unknown>;

it('the editor is told where the bundles are, and German is among them', () => {
  expect(manifest['l10n']).toBe(`./${FOLDER}`);
  expect(languages).toContain('de');
});

it('every text can be read from the source, with a value for each of its places', () => {
  expect(said.length).toBeGreaterThan(200);
  expect(unreadable).toEqual([]);
});

it('no text is said while a module loads: the language is not known then', () => {
  const early = [...page, ...sourceFiles('server', 'grammar/src'), ...client].flatMap((file) => {
    const found: string[] = [];
    const visit = (node: ts.Node): void => {
      if (isSay(node) || isTranslate(node)) found.push(placeOf(node));
      if (!ts.isFunctionLike(node)) ts.forEachChild(node, visit);
    };
    visit(file);
    return found;
  });
  expect(early).toEqual([]);
});

describe.each(languages)('%s', (language) => {
  const text = readFileSync(join(ROOT, FOLDER, `bundle.l10n.${language}.json`), 'utf8');
  const bundle = JSON.parse(text) as Record<string, string>;

  it('has every text that is said, and no other', () => {
    const keys = new Set([...said.map((s) => s.key), ...TABLE_TEXTS]);
    expect(TABLE_TEXTS.filter((key) => !Object.hasOwn(bundle, key))).toEqual([]);
    expect(said.filter((s) => !Object.hasOwn(bundle, s.key)).map((s) => `${s.place}: ${s.key}`)).toEqual([]);
    expect(Object.keys(bundle).filter((key) => !keys.has(key))).toEqual([]);
  });

  it('names each once', () => {
    const keys = [...text.matchAll(/^ {2}"((?:[^"\\]|\\.)*)":/gm)].map((m) => m[1]!);
    expect(keys.length).toBe(Object.keys(bundle).length);
  });

  it('keeps placeholders, backquotes, links and line ends', () => {
    for (const [key, translated] of Object.entries(bundle)) expect(marks(translated), key).toEqual(marks(key));
  });

  it('keeps how a text begins and ends where it is put together with others', () => {
    const edges = (s: string): string[] => [/^[\s,;:.]*/, /[\s:…]*$/].map((edge) => edge.exec(s)![0]);
    for (const [key, translated] of Object.entries(bundle)) expect(edges(translated), key).toEqual(edges(key));
  });
});

// ---------------------------------------------------------------- texts that skip the bundle

/** Calls of the editor that show their text arguments, by name. */
const SHOWS =
  /^(show(Information|Warning|Error)Message|setStatusBarMessage|createTestController|createRunProfile|createWebviewPanel|setTitle|warn)$/;
/** Fields of what is handed to the editor that it shows. */
const SHOWN_FIELDS = /^(title|placeHolder|prompt|detail|description|label|tooltip|text|openLabel|saveLabel|message)$/;
/** Attributes that are seen or read out. */
const SEEN_ATTRIBUTES = /^(title|alt|placeholder|aria-(label|description|roledescription|valuetext))$/;

/** Text with words that a person reads; markup does not count, nor do names that are alike in every language. */
function isWords(node: ts.Node): boolean {
  const text = ts.isStringLiteralLike(node)
    ? node.text
    : ts.isTemplateExpression(node)
      ? [node.head.text, ...node.templateSpans.map((s) => s.literal.text)].join(' ')
      : '';
  return /\p{L}{2}/u.test(text.replace(/<[^>]*>/g, '').replace(/\b(Caisson|SVG|PNG|CSV)\b/g, ''));
}

/** Literals that reach a place where they are shown: through conditions, joins and brackets, not through other calls. */
function literalsIn(node: ts.Node): ts.Node[] {
  if (isSay(node) || isTranslate(node)) return [];
  if (ts.isTemplateExpression(node))
    return [...(isWords(node) ? [node] : []), ...node.templateSpans.flatMap((s) => literalsIn(s.expression))];
  if (ts.isStringLiteralLike(node)) return isWords(node) ? [node] : [];
  if (ts.isConditionalExpression(node)) return [...literalsIn(node.whenTrue), ...literalsIn(node.whenFalse)];
  if (ts.isBinaryExpression(node)) {
    const isChosen = /^(\+|\?\?|\|\||&&)$/.test(node.operatorToken.getText());
    return isChosen ? [...literalsIn(node.left), ...literalsIn(node.right)] : [];
  }
  if (ts.isParenthesizedExpression(node)) return literalsIn(node.expression);
  if (ts.isArrayLiteralExpression(node)) return node.elements.flatMap(literalsIn);
  return [];
}

const calleeOf = (call: ts.CallExpression | ts.NewExpression): string =>
  /\w+$/.exec(call.expression.getText())?.[0] ?? '';

/** `log.warn` and its like: the log is in English, for whoever mends a fault. */
const isLog = (call: ts.Node): boolean => ts.isCallExpression(call) && /^log\.|\.log\./.test(call.expression.getText());

/** What of a file of the extension is shown and skips the bundle. */
function skippedByClient(file: ts.SourceFile): string[] {
  const shown: ts.Node[] = [];
  walk(file, (node) => {
    if (ts.isNewExpression(node) && calleeOf(node) === 'TestMessage') shown.push(...(node.arguments ?? []));
    if (ts.isCallExpression(node) && SHOWS.test(calleeOf(node)) && !isLog(node)) {
      // The first text of these is an id.
      const isNamed = /^create/.test(calleeOf(node)) && calleeOf(node) !== 'createRunProfile';
      shown.push(...node.arguments.slice(isNamed ? 1 : 0));
    }
    if (ts.isPropertyAssignment(node)) {
      if (SHOWN_FIELDS.test(node.name.getText())) shown.push(node.initializer);
      // Names of file types stand as keys.
      if (node.name.getText() === 'filters')
        walk(node.initializer, (n) => ts.isPropertyAssignment(n) && shown.push(n.name));
    }
    if (ts.isBinaryExpression(node) && node.operatorToken.kind === ts.SyntaxKind.EqualsToken) {
      const field = ts.isPropertyAccessExpression(node.left) ? node.left.name.text : '';
      if (SHOWN_FIELDS.test(field)) shown.push(node.right);
    }
  });
  return namesOf(shown);
}

/** What of a file of the page is seen or read out and skips the bundle. */
function skippedByPage(file: ts.SourceFile): string[] {
  const shown: ts.Node[] = [];
  walk(file, (node) => {
    if (ts.isPropertyAssignment(node)) {
      const name = node.name.getText().replace(/'/g, '');
      if (SEEN_ATTRIBUTES.test(name) || /^(text|label|message)$/.test(name)) shown.push(node.initializer);
    }
    if (ts.isBinaryExpression(node) && node.operatorToken.kind === ts.SyntaxKind.EqualsToken) {
      const field = ts.isPropertyAccessExpression(node.left) ? node.left.name.text : '';
      if (/^(textContent|title|ariaLabel)$/.test(field)) shown.push(node.right);
    }
    if (!ts.isCallExpression(node)) return;
    const [first, second, ...rest] = node.arguments;
    switch (calleeOf(node)) {
      case 'h':
        return void shown.push(...rest);
      case 'button':
      case 'menu':
      case 'picker':
        return void shown.push(...[first, second].filter((a) => a !== undefined));
      case 'textTable':
      case 'say':
        return void shown.push(...node.arguments);
      case 'setText':
      case 'label':
        return void (second && shown.push(second));
      case 'setAttribute': {
        const name = node.arguments.find((a) => ts.isStringLiteral(a) && SEEN_ATTRIBUTES.test(a.text));
        return void (name && shown.push(node.arguments.at(-1)!));
      }
    }
  });
  return namesOf(shown);
}

/** One line for each literal; strings that stand as names of fields too. */
function namesOf(shown: readonly ts.Node[]): string[] {
  const found = shown.flatMap((n) => (ts.isIdentifier(n) && /^[A-Z]/.test(n.text) ? [n] : literalsIn(n)));
  return [...new Set(found.map((n) => `${placeOf(n)} ${n.getText()}`))];
}

/** Functions that make a text which is shown elsewhere: what they return, and constants of the module with words in them. */
function returnedWords(file: ts.SourceFile): string[] {
  const found: ts.Node[] = [];
  walk(file, (node) => {
    const returned = ts.isReturnStatement(node)
      ? node.expression
      : ts.isArrowFunction(node) && !ts.isBlock(node.body)
        ? node.body
        : undefined;
    if (returned) found.push(...literalsIn(returned));
    // A sentence anywhere is for people, unless the log gets it.
    if (ts.isStringLiteralLike(node) && /^\p{Lu}\p{Ll}+( \p{L}+){2,}/u.test(node.text) && !insideLog(node))
      found.push(node);
  });
  const isSentence = (n: ts.Node): boolean => /\p{L}+ \p{L}+/u.test(n.getText().replace(/<[^>]*>/g, ''));
  return [...new Set(found.filter((n) => isSentence(n) && !insideSaid(n)).map((n) => `${placeOf(n)} ${n.getText()}`))];
}

function inside(node: ts.Node, test: (above: ts.Node) => boolean): boolean {
  for (let at: ts.Node | undefined = node; at; at = at.parent) if (test(at)) return true;
  return false;
}
const insideLog = (node: ts.Node): boolean => inside(node, isLog);
const insideSaid = (node: ts.Node): boolean => inside(node, (n) => isSay(n) || isTranslate(n));

/** What a problem, its fixes and verdicts are made of, where it is made: `found` of checks, `report` of the resolver, fields with sentences. */
function skippedByProblems(file: ts.SourceFile): string[] {
  const shown: ts.Node[] = [];
  walk(file, (node) => {
    const isMade = inside(node, ts.isFunctionLike);
    if (isMade && ts.isPropertyAssignment(node) && /^(message|title|because|why)$/.test(node.name.getText()))
      shown.push(node.initializer);
    if (
      ts.isVariableDeclaration(node) &&
      node.initializer &&
      /^(message|title|why)$/.test(node.name.getText()) &&
      isMade
    )
      shown.push(node.initializer);
    if (ts.isCallExpression(node) && /^(found|report|requireFix|misfit|wrong)$/.test(calleeOf(node)))
      shown.push(...node.arguments.slice(1, calleeOf(node) === 'requireFix' ? 2 : 3));
  });
  const isSentence = (place: string): boolean => /\p{L} \$?\{?\p{L}/u.test(place.replace(/^\S+ /, ''));
  return namesOf(shown).filter(isSentence);
}

describe('no text skips the bundle', () => {
  it('that a check, a metric or the resolver reports', () => {
    const files = sourceFiles('server/core/checks', 'server/core/metrics', 'server/core/model');
    expect(files.flatMap(skippedByProblems)).toEqual([]);
  });
  it.each([
    ['const f = () => found(check, at, `${a} is open`, about)', 1],
    ['const f = () => found(check, at, say`${a} is open`, about)', 0],
    [`function f() { return { title: 'Turn it round', edits } }`, 1],
    [`function f() { const message = a ? say\`It is\` : 'It is not'; }`, 1],
    [`const check = { title: 'Shown by the command line' }`, 0],
  ])('problem: %s', (text, count) => expect(skippedByProblems(parse('a.ts', text))).toHaveLength(count));

  it('that the extension hands to the editor', () => expect(client.flatMap(skippedByClient)).toEqual([]));
  it('that the page shows or has read out', () => expect(page.flatMap(skippedByPage)).toEqual([]));
  it('that a function of either returns', () => {
    expect([...client, ...page].flatMap(returnedWords)).toEqual([]);
  });

  it.each([
    [`window.showInformationMessage('Open it first.')`, 1],
    ['window.showErrorMessage(`Wrote ${name}.`)', 1],
    [`window.showErrorMessage(isGone ? 'It is gone.' : l10n.t('It is there.'))`, 1],
    [`window.showQuickPick(items, { placeHolder: 'Format' })`, 1],
    [`new TestMessage('It failed')`, 1],
    [`item.text = 'ready'`, 1],
    [`({ filters: { 'Web page': ['html'] } })`, 1],
    [`log.warn('it is gone')`, 0],
    [`window.showErrorMessage(l10n.t('It is gone.'))`, 0],
    [`tests.createTestController('an.id', l10n.t('Requirements'))`, 0],
  ])('extension: %s', (text, count) => expect(skippedByClient(parse('a.ts', text))).toHaveLength(count));

  it.each([
    [`h('p', {}, 'Nothing yet')`, 1],
    [`h('p', { 'aria-label': 'Notices' })`, 1],
    [`button('Fit', say\`Fit it\`, act)`, 1],
    ['setText(element, `Line ${n}`)', 1],
    [`app.say(done ? say\`Done.\` : 'Not done.')`, 1],
    [`element.title = 'Speed'`, 1],
    [`setAttribute(element, 'aria-label', 'Curves')`, 1],
    [`setAttribute(element, 'aria-current', 'step')`, 0],
    [`h('p', { class: 'notes' }, say\`Nothing yet\`)`, 0],
  ])('page: %s', (text, count) => expect(skippedByPage(parse('a.ts', text))).toHaveLength(count));
});
