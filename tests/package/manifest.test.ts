/** The manifest agrees with the tables and files it names. */
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { OPEN_PREVIEW_COMMAND, TOKEN_TYPES } from '../../server/protocol/messages';
import { SETTINGS, SETTINGS_SECTION, type SettingSpec } from '../../server/protocol/settings';

const ROOT = resolve(__dirname, '../..');
const read = (path: string): string => readFileSync(join(ROOT, path), 'utf8');
const manifest = JSON.parse(read('package.json'));
const { contributes } = manifest;
const words: Record<string, string> = JSON.parse(read('package.nls.json'));
const textOf = (reference: string): string | undefined => words[reference.replace(/^%(.+)%$/, '$1')];
const commands: string[] = contributes.commands.map((c: { command: string }) => c.command);

describe('settings', () => {
  const properties = contributes.configuration.properties;

  it('are those of the table, at most 20', () => {
    expect(Object.keys(properties)).toEqual(SETTINGS.map((s) => `${SETTINGS_SECTION}.${s.name}`));
    expect(SETTINGS.length).toBeLessThanOrEqual(20);
  });

  it.each(SETTINGS as readonly SettingSpec[])('$name has the type, default, words and text of the table', (spec) => {
    const given = properties[`${SETTINGS_SECTION}.${spec.name}`];
    expect([given.type, given.default, given.enum]).toEqual([spec.type, spec.default, spec.values]);
    expect(textOf(given.markdownDescription)).toBe(spec.doc);
    expect(['resource', 'window']).toContain(given.scope);
  });
});

describe('commands', () => {
  it('each has a handler, and each handler is contributed', () => {
    const handled = [...read('client/src/commands.ts').matchAll(/'(caisson\.\w+)':/g)].map((m) => m[1]);
    expect([...handled].sort()).toEqual([...commands].sort());
    expect(commands).toContain(OPEN_PREVIEW_COMMAND);
  });

  it('all stand in one category and have a title', () => {
    for (const command of contributes.commands) {
      expect(command.category).toBe('Caisson');
      expect(textOf(command.title)).toBeTruthy();
    }
  });

  it('menus and keys name commands that exist', () => {
    const named = [...Object.values(contributes.menus).flat(), ...contributes.keybindings] as { command: string }[];
    expect(named.length).toBeGreaterThan(10);
    for (const { command } of named) expect(commands).toContain(command);
  });

  it('one icon only stands above a rig file', () => {
    const icons = contributes.menus['editor/title'].filter(
      (entry: { when: string; group: string }) => entry.group === 'navigation' && entry.when.includes('editorLangId'),
    );
    expect(icons).toHaveLength(1);
  });

  it('keys work where a rig or its preview is in front only', () => {
    for (const key of contributes.keybindings) expect(key.when).toMatch(/editorLangId == rig|caisson\.preview/);
  });
});

describe('texts and files', () => {
  it('every text of the manifest is there, and none is left over', () => {
    const used = new Set([...read('package.json').matchAll(/"%([\w.]+)%"/g)].map((m) => m[1]!));
    // The description is for npm too, which knows no such references: only the packaged extension names it by its key.
    expect([...used, 'description'].sort()).toEqual(Object.keys(words).sort());
    expect(words['description']).toBe(manifest.description);
  });

  it('tables and manifest agree: nothing is left to generate', () => {
    expect(() => execFileSync(process.execPath, [join(ROOT, 'client/generate.mjs'), '--check'])).not.toThrow();
  });

  it('every file the manifest names is there', () => {
    const language = contributes.languages[0];
    const media = contributes.walkthroughs.flatMap((w: { steps: { media: Record<string, string> }[] }) =>
      w.steps.map((step) => step.media.markdown ?? step.media.svg),
    );
    const files = [
      manifest.icon,
      language.configuration,
      ...Object.values(language.icon),
      ...contributes.grammars.map((g: { path: string }) => g.path),
      ...contributes['markdown.previewStyles'],
      ...media,
    ] as string[];
    for (const file of files) expect(existsSync(join(ROOT, file)), file).toBe(true);
  });

  it('every text that the editor shows is named by its key', () => {
    const shown = textsOf(contributes);
    expect(shown.length).toBeGreaterThan(50);
    // `Caisson` is a name: alike in every language.
    expect(shown.filter((text) => !/^%[\w.]+%$/.test(text) && text !== 'Caisson')).toEqual([]);
    expect(manifest.capabilities.untrustedWorkspaces.description).toMatch(/^%[\w.]+%$/);
  });

  it('semantic token types are those of the server', () => {
    const own = TOKEN_TYPES.filter((type) => !type.standard).map((type) => type.name);
    expect(contributes.semanticTokenTypes.map((t: { id: string }) => t.id)).toEqual(own);
    expect(Object.keys(contributes.semanticTokenScopes[0].scopes)).toEqual(own);
  });
});

/** Fields of a manifest whose text the editor shows. */
const SHOWN = /^(title|shortTitle|label|altText|category|contents|(markdown)?description|deprecationMessage)$/i;

/** Every text below a value that stands in such a field. */
function textsOf(value: unknown, field = ''): string[] {
  if (typeof value === 'string') return SHOWN.test(field) ? [value] : [];
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([name, inner]) => textsOf(inner, Array.isArray(value) ? field : name));
}

describe('what the extension declares', () => {
  it('works in untrusted and virtual workspaces', () => {
    expect(manifest.capabilities).toMatchObject({
      untrustedWorkspaces: { supported: 'limited', restrictedConfigurations: ['caisson.constants'] },
      virtualWorkspaces: true,
    });
  });

  it('runs in the editor from 1.91 on', () => expect(manifest.engines.vscode).toBe('^1.91.0'));

  it('the problem matcher reads the lines of the command line', () => {
    const { regexp } = contributes.problemMatchers[0].pattern;
    const match = new RegExp(regexp).exec('rigs/a b.rig:12:7: information name/unused: `x` is never used: delete it.')!;
    expect(match.slice(1)).toEqual(['rigs/a b.rig', '12', '7', 'info', 'name/unused', '`x` is never used: delete it.']);
    expect(new RegExp(regexp).test('    rigs/a.rig:12:7: the timer')).toBe(false);
  });
});

describe('versions', () => {
  it('the manifest names the newest entry of the changelog', () => {
    const newest = /^## \[(\d+\.\d+\.\d+)\]/m.exec(read('CHANGELOG.md'))?.[1];
    expect(manifest.version).toBe(newest);
  });

  it('.nvmrc is the least version that the manifest asks for', () => {
    expect(manifest.engines.node).toBe(`>=${read('.nvmrc').trim()}`);
  });
});
