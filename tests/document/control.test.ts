/** What leaves a rig without a control is found without the other checks, and is what all of them together find of it. */
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { createDocument, type RigDocument } from '../../server/core/document/document';
import { isTextError } from '../../server/core/document/problems';
import type { Problem } from '../../server/core/model/problem';

const FOLDER = 'samples/broken';
const GROUPS = /^(wire|syntax|name|unit|import|value|door-never)/;
const texts = readdirSync(FOLDER)
  .filter((file) => GROUPS.test(file) && file.endsWith('.rig'))
  .map((file) => [file, readFileSync(`${FOLDER}/${file}`, 'utf8')] as const);

const open = (text: string): RigDocument =>
  createDocument({ uri: 'file:///control.rig', version: 1, text }, () => undefined);

const spoils = (p: Problem): boolean => isTextError(p) || (p.severity === 'error' && p.code.startsWith('wire/'));
const line = ({ code, at, message }: Problem): string => `${at.start} ${code} ${message}`;

describe('errors that leave no control', () => {
  it.each(texts)('of %s are the same whether or not all else is checked', (_, text) => {
    const asked = open(text).controlProblems().filter(spoils).map(line);
    expect(asked).toEqual(open(text).problems().filter(spoils).map(line));
  });

  it('are found in the samples of wiring', () => {
    const found = texts.flatMap(([file, text]) =>
      file.startsWith('wire-') ? open(text).controlProblems().filter(spoils) : [],
    );
    expect(new Set(found.map((p) => p.code))).toEqual(new Set(['wire/two-drivers', 'wire/loop-never-settles']));
  });
});
