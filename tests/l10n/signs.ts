/** A made-up language whose words are all signs: whatever word is left in an output was not said through the bundle. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import {
  BLOCK_WORDS,
  DIRECTION_WORDS,
  EVENT_WORDS,
  FUNCTIONS,
  PHASE_WORDS,
  PROPERTIES,
  RESERVED_WORDS,
  STATEMENTS,
} from '../../grammar/src/vocabulary';
import { METRICS } from '../../server/core/metrics/registry';
import { UNITS } from '../../server/core/units/table';
import { ROOT } from './sources';

const bundle = JSON.parse(readFileSync(join(ROOT, 'client/l10n/bundle.l10n.de.json'), 'utf8')) as object;

/** Every text of the bundle, its words turned into signs; what is put in stays, and what stands in backquotes. */
export const SIGNS: Readonly<Record<string, string>> = Object.fromEntries(
  Object.keys(bundle).map((key) => [
    key,
    key.replace(/\{\d+\}|`[^`]*`|\p{L}+/gu, (part) => (/^[{`]/.test(part) ? part : '□')),
  ]),
);

/** Alike in every language: keywords, units, names of blocks and metrics, and what stands for itself. */
const ALIKE: ReadonlySet<string> = new Set([
  ...STATEMENTS.flatMap((s) => s.form.match(/\p{L}[\p{L}\d_]*/gu) ?? []),
  ...Object.values(PROPERTIES).flatMap((specs) => specs.flatMap((s) => [s.keyword, ...s.words])),
  ...[...RESERVED_WORDS, ...BLOCK_WORDS, ...PHASE_WORDS, ...DIRECTION_WORDS, ...EVENT_WORDS],
  ...FUNCTIONS.flatMap((f) => [f.name, ...f.inputs]),
  ...METRICS.flatMap((m) => [m.name, ...m.parameters.map((p) => p.name)]),
  ...UNITS.flatMap((u) => u.name.match(/\p{L}[\p{L}\d_]*/gu) ?? []),
  ...['out', 'above', 'below', 'actual', 'free'],
]);

/** Words of an output that neither its sample nor the language of rigs has; one with an underscore is a name that is proposed. */
export function strangeWords(text: string, sample: string): string[] {
  const named = new Set(sample.replace(/#[^\n]*/g, '').match(/\p{L}[\p{L}\d_]*/gu));
  const plain = text.replace(/\\_/g, '_').replace(/`[^`]*`|\b[a-z]+\/[a-z-]+/g, '');
  const words = plain.match(/\p{L}[\p{L}\d_]*/gu) ?? [];
  return words.filter((w) => !w.includes('_') && !/^\p{L}\d*$/u.test(w) && !named.has(w) && !ALIKE.has(w));
}
