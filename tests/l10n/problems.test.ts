/**
 * What is reported about a rig is said through the bundle: in a made-up language whose words are all signs, the broken samples leave no
 * English word, only what their own text names, units and codes.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import type { Problem } from '../../server/core/model/problem';
import { ALL_CODES } from '../../server/core/checks/registry';
import { speak } from '../../server/core/words/say';
import { look } from '../checks/rigs';
import { SIGNS, strangeWords } from './signs';
import { ROOT } from './sources';

const FOLDER = join(ROOT, 'samples/broken');
const codes = new Set(ALL_CODES.map(({ code }) => code));
const files = readdirSync(FOLDER).filter((f) => codes.has(f.replace('-', '/').replace('.rig', '')));

/** Seen only with other files, or by a proof. */
const ELSEWHERE = new Set(['import-ambiguous.rig', 'import-circle.rig', 'require-refuted.rig']);

beforeAll(() => speak(SIGNS));
afterAll(() => speak());

it('there are samples to read', () => expect(files.length).toBeGreaterThan(20));

describe('samples/broken', () => {
  it.each(files)('%s', (file) => {
    const text = readFileSync(join(FOLDER, file), 'utf8');
    const { problems, resolution } = look(text);
    const ofForm: readonly Problem[] = parse(text).problems.map((p) => ({
      ...p,
      severity: 'error',
      at: { uri: '', ...p.span },
      fixes: [],
    }));
    const reported = [...ofForm, ...problems, ...resolution.problems].filter((p) => codes.has(p.code));
    const titles = parse(text).problems.flatMap((p) => (p.fixes ?? []).map((fix) => fix.title));
    const said = reported.flatMap((p) => [
      p.message,
      ...(p.related ?? []).map((place) => place.message),
      ...(p.fixes ?? []).map((fix) => fix.title),
      ...(p.noFix ? [p.noFix] : []),
    ]);
    said.push(...titles);
    expect(said.length > 0 || ELSEWHERE.has(file)).toBe(true);
    expect(said.flatMap((s) => strangeWords(s, text).map((word) => `${word}: ${s}`))).toEqual([]);
  });
});

it('an English word is seen', () =>
  expect(strangeWords('□ upper waits □ 2 s', 'rig r { door upper }')).toEqual(['waits']));
