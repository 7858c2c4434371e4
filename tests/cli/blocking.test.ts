import { describe, expect, it } from 'vitest';
import { isTextError } from '../../server/core/document/problems';
import { ALL_CODES } from '../../server/core/document/codes';

describe('errors of the text', () => {
  it('are those of form, names, units, values and imports, and no finding about a sound text', () => {
    const groups = new Set(
      ALL_CODES.filter(({ code }) => isTextError({ code, severity: 'error' })).map(({ code }) => code.split('/')[0]),
    );
    expect([...groups].sort()).toEqual(['import', 'name', 'syntax', 'unit', 'value']);
    for (const code of ['door/overlap', 'require/failed', 'flow/over-limit', 'wire/two-drivers'])
      expect(isTextError({ code, severity: 'error' })).toBe(false);
    expect(isTextError({ code: 'import/missing', severity: 'error' })).toBe(true);
    expect(isTextError({ code: 'name/unused', severity: 'hint' })).toBe(false);
  });
});
