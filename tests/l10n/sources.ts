/** The texts that the sources say through the bundle, read from their syntax tree. */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';
import * as ts from 'typescript';

export const ROOT = resolve(__dirname, '../..');

/** Files of TypeScript below folders of the project. */
export function sourceFiles(...folders: readonly string[]): ts.SourceFile[] {
  const below = (path: string): string[] =>
    statSync(path).isDirectory() ? readdirSync(path).flatMap((e) => below(join(path, e))) : [path];
  const paths = folders.flatMap((f) => below(join(ROOT, f))).filter((p) => p.endsWith('.ts') && !p.endsWith('.d.ts'));
  return paths.map((p) => parse(relative(ROOT, p), readFileSync(p, 'utf8')));
}

export const parse = (name: string, text: string): ts.SourceFile =>
  ts.createSourceFile(name, text, ts.ScriptTarget.Latest, true);

export const isTranslate = (node: ts.Node): node is ts.CallExpression =>
  ts.isCallExpression(node) && /^(vscode\.)?l10n\.t$/.test(node.expression.getText());

export const isSay = (node: ts.Node): node is ts.TaggedTemplateExpression =>
  ts.isTaggedTemplateExpression(node) && node.tag.getText() === 'say';

/** `server/a.ts:12` */
export function placeOf(node: ts.Node): string {
  const file = node.getSourceFile();
  return `${file.fileName}:${file.getLineAndCharacterOfPosition(node.getStart()).line + 1}`;
}

export function walk(node: ts.Node, visit: (node: ts.Node) => void): void {
  visit(node);
  ts.forEachChild(node, (child) => walk(child, visit));
}

function keyOfTemplate(template: ts.TemplateLiteral): string {
  if (ts.isNoSubstitutionTemplateLiteral(template)) return template.text;
  return template.head.text + template.templateSpans.map((span, i) => `{${i}}${span.literal.text}`).join('');
}

export interface Said {
  readonly key: string;
  readonly place: string;
}

/** Every text that is said, and the calls whose text cannot be read from the source. */
export function saidIn(files: readonly ts.SourceFile[]): { readonly said: Said[]; readonly unreadable: string[] } {
  const said: Said[] = [];
  const unreadable: string[] = [];
  const visit = (node: ts.Node): void => {
    if (isSay(node)) said.push({ key: keyOfTemplate(node.template), place: placeOf(node) });
    if (!isTranslate(node)) return;
    const [first, ...values] = node.arguments;
    const isPlain = first && ts.isStringLiteralLike(first);
    const places = isPlain ? new Set(first.text.match(/\{\d+\}/g)).size : -1;
    if (isPlain && places === values.length) said.push({ key: first.text, place: placeOf(node) });
    else unreadable.push(placeOf(node));
  };
  for (const file of files) walk(file, visit);
  return { said, unreadable };
}
