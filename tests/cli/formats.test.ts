/** What build servers read: SARIF as the standard asks, JUnit XML of the usual form, for every sample, the faulty ones too. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import Ajv from 'ajv/dist/2020';
import { beforeAll, describe, expect, it } from 'vitest';
import { ROOT, run } from './run';

const SAMPLES = ['samples/digester_bank.rig', 'samples/broken/shared', 'samples/refuted', 'samples/poor'];
const FAULTY = ['door-overlap', 'require-failed', 'syntax-string', 'name-unknown', 'import-missing', 'loss-vents'].map(
  (name) => `samples/broken/${name}.rig`,
);

async function written(format: string, ...more: string[]): Promise<string> {
  const { code, out, err } = await run(['check', ...SAMPLES, ...FAULTY, '--format', format, ...more]);
  expect({ code, err }).toEqual({ code: 1, err: '' });
  return out;
}

describe('SARIF', () => {
  const ajv = new Ajv({ strict: false, validateFormats: false });
  const valid = ajv.compile(JSON.parse(readFileSync(join(ROOT, 'tests/support/sarif.schema.json'), 'utf8')) as object);

  it.each([[[]], [['--values']]])('is what 2.1.0 requires, with options %s', async (options) => {
    const log = JSON.parse(await written('sarif', ...options)) as {
      runs: { results: { ruleId: string }[]; tool: { driver: { rules: { id: string }[] } } }[];
    };
    expect(valid(log) ? [] : valid.errors).toEqual([]);
    const [{ results, tool }] = log.runs as [(typeof log.runs)[number]];
    expect(results.length).toBeGreaterThan(4);
    const rules = tool.driver.rules.map((r) => r.id);
    expect(results.filter((r) => !rules.includes(r.ruleId))).toEqual([]);
  });

  it('would be refused with a member that the standard does not have', async () => {
    const log = JSON.parse(await written('sarif')) as { runs: { results: object[] }[] };
    Object.assign(log.runs[0]!.results[0]!, { severity: 'error' });
    expect(valid(log)).toBe(false);
  });
});

describe('JUnit XML', () => {
  let xml = '';
  beforeAll(async () => void (xml = await written('junit', '--values')));

  it('nests and closes its elements', () => {
    const open: string[] = [];
    for (const [, close, name, rest] of xml.replace(/<\?.*?\?>/, '').matchAll(/<(\/?)([a-z]+)((?:\s[^<>]*)?)>/g)) {
      if (close === '/') expect(open.pop()).toBe(name);
      else if (!rest!.endsWith('/')) open.push(name!);
    }
    expect(open).toEqual([]);
  });

  it('counts cases and failures as they stand there', () => {
    const counted = (text: string, name: string) => text.split(`<${name}`).length - 1;
    const suites = xml.match(/<testsuite [\s\S]*?<\/testsuite>/g)!;
    expect(suites.length).toBeGreaterThan(8);
    for (const suite of suites) {
      const [, tests, failures] = /tests="(\d+)" failures="(\d+)" errors="0"/.exec(suite)!;
      expect(counted(suite, 'testcase ')).toBe(Number(tests));
      expect(counted(suite, 'failure ')).toBe(Number(failures));
      for (const [testcase] of suite.matchAll(/<testcase [^>]*>/g))
        expect(testcase).toMatch(/ classname="[^"]+" name="[^"]+"/);
    }
    const [, tests, failures] = /<testsuites name="caisson" tests="(\d+)" failures="(\d+)" errors="0">/.exec(xml)!;
    expect([Number(tests), Number(failures)]).toEqual([counted(xml, 'testcase '), counted(xml, 'failure ')]);
  });
});
