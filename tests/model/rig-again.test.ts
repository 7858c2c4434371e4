/** After an edit, rigs that it leaves alone are taken over, and the whole is what resolving a text read afresh gives. */
import { readFileSync } from 'node:fs';
import { isDeepStrictEqual } from 'node:util';
import { describe, expect, it } from 'vitest';
import { parse, parseSteps } from '../../grammar/src/api';
import type { ParseResult } from '../../grammar/src/ast';
import { drained } from '../../grammar/src/read';
import { resolveFile } from '../../server/core/model/resolve';
import type { Resolution, ResolveOptions } from '../../server/core/model/resolution';
import { parseOverrides } from '../../server/core/document/overrides';
import { integer, pick, seeded, type Random } from '../support/random';

const SAMPLES = ['digester_bank', 'quay_lock', 'grain_blower', 'brine_lift'].map((name) =>
  readFileSync(`samples/${name}.rig`, 'utf8'),
);
/** Between rigs; a part outside them may be what any of them places. */
const OUTSIDE = [
  'let spare = 2 s',
  'medium brew liquid { density 1030 kg/m3  bulk_modulus 2.1 GPa }',
  'let pause = 3 s in 1 s .. 5 s',
  '',
  '',
  '',
];
const PART = 'part lag(what, by) {\n  signal late = TON(what, by)\n}';
const RUNS = Number(process.env.FUZZ_RUNS ?? 12);
const SEED = Number(process.env.FUZZ_SEED ?? 20_261_128);
const URI = 'file:///a.rig';

const resolved = ({ tree }: ParseResult, text: string, options?: ResolveOptions): Resolution =>
  resolveFile({ uri: URI, tree, text }, () => null, options);

/** Several rigs, each under a name of its own more often than not. */
const several = (random: Random): string =>
  [
    random() < 0.1 ? PART : pick(random, OUTSIDE),
    ...SAMPLES.map((text, k) => `${named(random, text, k)}\n${pick(random, OUTSIDE)}`),
  ].join('\n');
const named = (random: Random, text: string, k: number): string =>
  random() < 0.9 ? text.replace(/^rig (\S+)/m, `rig $1_${k}`) : text;

/** A digit, a letter or a line changed, taken away or written twice. */
function edited(random: Random, text: string): string {
  const lines = text.split('\n');
  const at = integer(random, 0, lines.length - 1);
  const line = lines[at]!;
  const how = random();
  if (how < 0.5) lines[at] = line.replace(/\d/, String(integer(random, 1, 9)));
  else if (how < 0.65) lines[at] = line.replace(/[a-z](?=\w)/, (letter) => pick(random, [letter + letter, 'q', '']));
  else if (how < 0.75) lines.splice(at, 1);
  else if (how < 0.85) lines.splice(at, 0, line);
  else if (how < 0.95) lines.splice(at, 0, pick(random, OUTSIDE));
  else lines[at] = `${line} ${pick(random, ['}', 'x', '= 2 s', '# why'])}`;
  return lines.join('\n');
}

describe('a text resolved again', () => {
  let taken = 0;

  it.each(Array.from({ length: RUNS }, (_, k) => SEED + k))('gives what a fresh one gives; seed %i', (seed) => {
    const random = seeded(seed);
    let text = several(random);
    let read = parse(text);
    let before = resolved(read, text);
    for (let k = 0; k < 12; k++) {
      // Back to a sound text now and then: mistakes pile up otherwise, and nothing is taken over any more.
      text = k % 6 === 5 ? several(random) : edited(random, text);
      read = drained(parseSteps(text, read));
      const now = resolved(read, text);
      taken += now.rigs.filter((rig) => before.rigs.includes(rig)).length;
      const fresh = resolved(parse(text), text);
      expect(isDeepStrictEqual(now, fresh), text).toBe(true);
      before = now;
    }
  });

  it('takes rigs over', () => expect(taken).toBeGreaterThan(RUNS));

  it('is resolved in full under values from outside', () => {
    const text = `let pause = 1 s\n${SAMPLES[0]!}\nrig other {\n  switch go\n  signal late = TON(go, pause)\n}\n`;
    const read = parse(text);
    const last = (options?: ResolveOptions): number | undefined =>
      resolved(read, text, options).rigs[1]!.network.elements.find(({ preset }) => preset)?.preset?.nominal;
    expect(last()).toBe(1_000_000);
    const overrides = parseOverrides(URI, { pause: '4 s' }).expressions;
    expect(last({ overrides })).toBe(4_000_000);
    expect(last()).toBe(1_000_000);
  });
});
