/** The JSON of check, timing and flow keeps to its schema, over every sample, the broken ones too; the schemas are in the package. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import Ajv2020 from 'ajv/dist/2020';
import { describe, expect, it } from 'vitest';
import { ROOT, run } from './run';

const FOLDER = 'server/core/report';
const samples = ['.', 'poor', 'refuted', 'broken'].flatMap((folder) =>
  readdirSync(join(ROOT, 'samples', folder))
    .filter((name) => name.endsWith('.rig') && name !== 'value-too-large.rig')
    .map((name) => join('samples', folder, name)),
);
const sound = samples.filter((path) => !path.includes('broken'));

const COMMANDS: readonly [schema: string, words: readonly string[], samples: readonly string[]][] = [
  ['check', ['check', '--format', 'json', '--show-fixes'], samples],
  ['timing', ['timing', '--json'], sound],
  ['flow', ['flow', '--json'], sound],
];

describe.each(COMMANDS)('%s.schema.json', (name, words, files) => {
  const schema = JSON.parse(readFileSync(join(ROOT, FOLDER, `${name}.schema.json`), 'utf8')) as object;
  const ajv = new Ajv2020({ allowUnionTypes: true });

  it('is a schema that wants something', () => {
    expect(ajv.validateSchema(schema)).toBe(true);
    expect(ajv.validate(schema, {})).toBe(false);
  });

  it.each(files)('holds for %s', async (path) => {
    const { out } = await run([...words, path]);
    ajv.validate(schema, JSON.parse(out));
    expect(ajv.errors ?? []).toEqual([]);
  });
});

it('the package has the schemas', () => {
  const { files } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { files: string[] };
  for (const [name] of COMMANDS) expect(files).toContain(`${FOLDER}/${name}.schema.json`);
});
