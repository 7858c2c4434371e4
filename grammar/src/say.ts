/**
 * Texts for people in the language of the program that shows them. The English text is the key, as in the bundles of the editor
 * (`vscode.l10n`), which hold what is said here too. The command line speaks English; the language server and the preview page are handed
 * the table of the editor's language when they start, and speak it to their end.
 */

/** English text with `{0}`, `{1}` … for what is put in → the same in another language. */
export type WordTable = Readonly<Record<string, string>>;

let table: WordTable = {};

/** Sets the table of the language for everything said from now on; without one it is English. Called once, by the entry of a program. */
export function speak(words: WordTable = {}): void {
  table = words;
}

/**
 * A text with values put in: `` say`${door} opens` `` has the key `{0} opens`. English where the table does not have it. The values may
 * stand in another order in the translation, and one may be left out or stand twice.
 */
export function say(parts: TemplateStringsArray, ...values: readonly (string | number)[]): string {
  if (values.length === 0) return said(parts[0]!);
  const key = parts.reduce((text, part, i) => `${text}{${i - 1}}${part}`);
  return said(key).replace(/\{(\d+)\}/g, (place, index: string) => String(values[Number(index)] ?? place));
}

/** A text of a table that is there before the language is known, such as what a keyword means: translated as it is shown. `tests/l10n` reads the tables. */
export function said(text: string): string {
  return Object.hasOwn(table, text) ? table[text]! : text;
}

/** As `said`, but nothing where the language has no translation: for a text that is left out rather than shown in English. */
export function saidAtAll(text: string): string {
  return Object.hasOwn(table, text) || Object.keys(table).length === 0 ? said(text) : '';
}
