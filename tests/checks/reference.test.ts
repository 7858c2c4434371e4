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
