/**
 * What is reported about a rig is said through the bundle: in a made-up language whose words are all signs, the broken samples leave no
 * English word, only what their own text names, units and codes.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { FUNCTIONS } from '../../grammar/src/vocabulary';
import { ALL_CODES } from '../../server/core/checks/registry';
import { DIMENSION_NAMES } from '../../server/core/units/dimensions';
import { unitsOf } from '../../server/core/units/units';
import { speak } from '../../server/core/words/say';
import { look } from '../checks/rigs';
import { ROOT } from './sources';

const FOLDER = join(ROOT, 'samples/broken');
const bundle = JSON.parse(readFileSync(join(ROOT, 'client/l10n/bundle.l10n.de.json'), 'utf8')) as object;
/** Every text of the bundle, its words turned into signs; what is put in stays. */
const SIGNS = Object.fromEntries(
  Object.keys(bundle).map((key) => [
    key,
    key.replace(/\{\d+\}|\p{L}+/gu, (part) => (part.startsWith('{') ? part : '□')),
  ]),
);

/** Kinds of arguments and the model of flow are English so far. */
const NOT_YET = /^(require\/arguments|flow\/value)$/;
/** Of form: what the reader of the text reports is English so far. */
const codes = new Set(
  ALL_CODES.map(({ code }) => code).filter((code) => !NOT_YET.test(code) && !code.startsWith('syntax/')),
);
const files = readdirSync(FOLDER).filter((f) => codes.has(f.replace('-', '/').replace('.rig', '')));
/** Alike in every language. */
const ALIKE = new Set([
  'above',
  'below',
  'clears',
  ...FUNCTIONS.flatMap((f) => [f.name, ...f.inputs]),
  ...DIMENSION_NAMES.flatMap(unitsOf).map((unit) => unit.name),
]);

/** Seen only with other files, or by a proof. */
const ELSEWHERE = new Set(['import-ambiguous.rig', 'import-circle.rig', 'require-refuted.rig']);

/** Words of a text that neither the sample nor the language of rigs has; one with an underscore is a name that is proposed. */
function strange(message: string, sample: string): string[] {
  const named = new Set(sample.replace(/#[^\n]*/g, '').match(/\p{L}[\p{L}\d_]*/gu));
  const words = message.replace(/\b[a-z]+\/[a-z-]+/g, '').match(/\p{L}[\p{L}\d_]*/gu) ?? [];
  return words.filter((word) => !word.includes('_') && !named.has(word) && !ALIKE.has(word));
}

beforeAll(() => speak(SIGNS));
afterAll(() => speak());

it('there are samples to read', () => expect(files.length).toBeGreaterThan(20));

describe('samples/broken', () => {
  it.each(files)('%s', (file) => {
    const text = readFileSync(join(FOLDER, file), 'utf8');
    const { problems, resolution } = look(text);
    const reported = [...problems, ...resolution.problems].filter((p) => codes.has(p.code));
    const said = reported.flatMap((p) => [
      p.message,
      ...(p.related ?? []).map((place) => place.message),
      // What a unit is called beside its sign is English so far.
      ...(p.code === 'unit/missing' ? [] : (p.fixes ?? []).map((fix) => fix.title)),
      ...(p.noFix ? [p.noFix] : []),
    ]);
    expect(said.length > 0 || ELSEWHERE.has(file)).toBe(true);
    expect(said.flatMap((s) => strange(s, text).map((word) => `${word}: ${s}`))).toEqual([]);
  });
});

it('an English word is seen', () =>
  expect(strange('□ upper closes □ 2 s', 'rig r { door upper }')).toEqual(['closes']));
