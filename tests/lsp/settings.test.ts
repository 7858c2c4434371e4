/** The table of settings against package.json, and how values of a client are read. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readSettings, SETTINGS, SETTINGS_SECTION } from '../../server/protocol/settings';

interface Contributed {
  readonly type: string;
  readonly default: unknown;
  readonly enum?: readonly string[];
}
const manifest = JSON.parse(readFileSync(join(__dirname, '../../package.json'), 'utf8')) as {
  contributes: { configuration: { properties: Record<string, Contributed> } };
};

describe('settings', () => {
  it('are at most twenty, and package.json lists the same with the same defaults', () => {
    expect(SETTINGS.length).toBeLessThanOrEqual(20);
    const contributed = Object.entries(manifest.contributes.configuration.properties).map(([name, p]) => ({
      name,
      type: p.type,
      default: p.default,
      values: p.enum,
    }));
    const table = SETTINGS.map((s) => ({
      name: `${SETTINGS_SECTION}.${s.name}`,
      type: s.type,
      default: s.default,
      values: 'values' in s ? s.values : undefined,
    }));
    const byName = (a: { name: string }, b: { name: string }): number => (a.name < b.name ? -1 : 1);
    expect(contributed.sort(byName)).toEqual(table.sort(byName));
  });

  it('take their defaults from the table for anything absent or of a wrong type', () => {
    const defaults = readSettings(undefined);
    expect(defaults).toMatchObject({
      diagnosticsScope: 'openFiles',
      diagnosticsLimit: 200,
      constants: {},
      format: true,
    });
    for (const given of [
      null,
      3,
      'x',
      [],
      { diagnostics: null },
      { diagnostics: { scope: 'galaxy', limit: 'many' } },
    ]) {
      expect(readSettings(given)).toEqual(defaults);
    }
  });

  it('are read from nested objects', () => {
    const read = readSettings({
      diagnostics: { scope: 'workspace', limit: 7.9 },
      constants: { settle: '2 s', wrong: 3 },
      inlayHints: { drives: false },
    });
    expect(read).toMatchObject({
      diagnosticsScope: 'workspace',
      diagnosticsLimit: 7,
      driveHints: false,
      timerHints: true,
    });
    expect(read.constants).toEqual({ settle: '2 s' });
  });

  it('never allow fewer than one problem', () => {
    expect(readSettings({ diagnostics: { limit: -5 } }).diagnosticsLimit).toBe(1);
  });
});
