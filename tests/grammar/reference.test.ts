/** The examples of REFERENCE.md are sound and set as the formatter sets them, and so is the big example of the design. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { formatText, parse } from '../../grammar/src/api';
import { PROPERTIES, STATEMENTS } from '../../grammar/src/vocabulary';

const reference = readFileSync(join(__dirname, '../../grammar/REFERENCE.md'), 'utf8');
const examples = [...reference.matchAll(/```rig\n([^`]*)```/g)].map((m) => m[1]!);

describe('reference', () => {
  it('has examples', () => expect(examples.length).toBeGreaterThanOrEqual(3));

  it.each(examples.map((text) => [text.split('\n')[0]!, text]))('example %s', (_, text) => {
    expect(parse(text).problems).toEqual([]);
    expect(formatText(text)).toEqual({ text, reason: null });
  });

  it('uses every statement in its examples or text', () => {
    for (const { keyword } of STATEMENTS) expect(reference).toContain('`' + keyword);
  });

  it('has a section for the properties of each statement', () => {
    for (const keyword of Object.keys(PROPERTIES)) expect(reference).toContain(`### ${keyword}\n`);
  });
});
