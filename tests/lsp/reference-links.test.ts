/** Every code that a problem may carry has the section that its link leads to. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ALL_CODES } from '../../server/core/document/codes';
import { codeLink } from '../../server/lsp/convert-problems';

const reference = readFileSync(join(__dirname, '../../grammar/REFERENCE.md'), 'utf8');

describe('links of codes', () => {
  it.each(ALL_CODES.map((c) => c.code))('%s leads to its section', (code) => {
    const anchor = codeLink('', code).slice(1);
    expect(reference).toContain(`<a id="${anchor}"></a>`);
  });
});
