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
  const key = parts.reduce((text, part, i) => `${text}{${i - 1}}${part}`);
  const text = Object.hasOwn(table, key) ? table[key]! : key;
  return text.replace(/\{(\d+)\}/g, (place, index: string) => String(values[Number(index)] ?? place));
}
