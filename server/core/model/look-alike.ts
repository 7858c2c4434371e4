/** Names that differ only by letters of different scripts that look alike: `upper` and the same with a Cyrillic `е`. */
import { type Context, report } from './context';
import type { Declaration } from './resolution';
import { say } from '../words/say';

// Cyrillic and Greek letters whose usual shapes are those of Latin ones: a part of the table of Unicode Technical Standard 39
// (confusables.txt), written from memory; letters that only resemble one another are left out.
const CYRILLIC = 'аАВсСеЕНіІјЈкКМоОрРԛѕЅТуУхХԝһԁ';
const CYRILLIC_LATIN = 'aABcCeEHiIjJkKMoOpPqsSTyYxXwhd';
const GREEK = 'ΑΒΕΖΗΙΚΜΝοΟΡΤΥΧν';
const GREEK_LATIN = 'ABEZHIKMNoOPTYXv';

const LATIN = new Map<string, string>();
for (const [from, to] of [
  [CYRILLIC, CYRILLIC_LATIN],
  [GREEK, GREEK_LATIN],
] as const) {
  [...from].forEach((letter, i) => LATIN.set(letter, [...to][i]!));
}

const PLAIN = /^[\0-\x7f]*$/;

/** The name with look-alike letters as Latin ones. */
export function skeleton(name: string): string {
  return PLAIN.test(name) ? name : [...name].map((letter) => LATIN.get(letter) ?? letter).join('');
}

/** Reports pairs in the same scope of the file whose names look the same and are not; costs nothing for names in plain ASCII. */
export function reportLookAlikes(ctx: Context, uri: string): void {
  const suspects = ctx.declarations.filter((d) => d.at.uri === uri && !PLAIN.test(d.name));
  if (suspects.length === 0) return;
  const first = new Map<string, Declaration>();
  for (const declaration of ctx.declarations) {
    if (declaration.at.uri !== uri) continue;
    const key = `${declaration.container} ${skeleton(declaration.name)}`;
    const other = first.get(key);
    if (other === undefined) first.set(key, declaration);
    else if (other.name !== declaration.name) {
      const message = say`This ${declaration.name} only looks like the ${other.name} declared above: it has a letter of another script.`;
      report(ctx, 'name/look-alike', message, declaration.at, {
        related: [{ at: other.at, message: say`the other one` }],
      });
    }
  }
}
