/** The sections of REFERENCE.md about findings and metrics are those that the registries give. */
import { existsSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { anchorOf, codesReference } from '../../server/core/checks/reference';
import { CHECKS, RESERVED_CODES } from '../../server/core/checks/registry';
import { ALL_CODES } from '../../server/core/document/codes';
import { METRICS } from '../../server/core/metrics/registry';
import { metricsReference } from '../../server/core/metrics/reference';

const ROOT = resolve(__dirname, '..', '..');
const reference = readFileSync(join(ROOT, 'grammar', 'REFERENCE.md'), 'utf8');

function section(name: string): string {
  const [begin, end] = [`<!-- ${name}:begin -->`, `<!-- ${name}:end -->`];
  return reference.slice(reference.indexOf(begin) + begin.length, reference.indexOf(end)).trim();
}

describe('REFERENCE.md (npm run generate)', () => {
  const sampled = (code: string): boolean => existsSync(join(ROOT, 'samples', 'broken', `${anchorOf(code)}.rig`));

  it('has a current section on findings', () =>
    expect(section('checks')).toBe(codesReference(ALL_CODES, sampled).trim()));

  it('has a current section on metrics', () => expect(section('metrics')).toBe(metricsReference().trim()));

  it.each([...CHECKS, ...RESERVED_CODES].map((c) => c.code))('explains %s at its anchor', (code) =>
    expect(section('checks')).toContain(`<a id="${anchorOf(code)}"></a>\`${code}\``),
  );

  it.each(METRICS.map((m) => m.name))('explains the metric %s at its anchor', (name) =>
    expect(section('metrics')).toContain(`<a id="metric-${name}"></a>`),
  );
});

describe('a check that reads what the text states as meant', () => {
  // `loss/vents` judges the statement itself, which is a property of a switch and no requirement.
  const apart = ['loss/vents'];

  it.each(CHECKS.map((c) => [c.code, c.asksIntent === true] as const))('%s says so: %s', (code, says) => {
    const path = join(ROOT, 'server', 'core', 'checks', `${code}.ts`);
    const reads = existsSync(path) && readFileSync(path, 'utf8').includes('/model/intent');
    expect(says).toBe(reads && !apart.includes(code));
  });

  it('is found by the name of its file', () => expect(CHECKS.filter((c) => c.asksIntent).length).toBeGreaterThan(5));
});
