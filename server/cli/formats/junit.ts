/** Findings as JUnit XML: one suite a file, one case a finding; a file without findings has one passing case. */
import type { Finding } from '../findings';

const escape = (text: string): string =>
  text
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;')
    .replace(/"/g, '&quot;')
    // eslint-disable-next-line no-control-regex -- characters XML 1.0 does not allow
    .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '\ufffd');

const isFailure = (f: Finding): boolean => f.severity === 'error' || f.severity === 'warning';

/** A requirement that holds, to be listed as a passing case. */
export interface PassedCase {
  readonly path: string;
  readonly name: string;
}

export function renderJunit(
  findings: readonly Finding[],
  paths: readonly string[],
  passed: readonly PassedCase[],
): string {
  const suites = paths.map((path) =>
    suite(
      path,
      findings.filter((f) => f.path === path),
      passed.filter((p) => p.path === path),
    ),
  );
  const failures = findings.filter(isFailure).length;
  const head = `<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="caisson" failures="${failures}">\n`;
  return head + suites.join('') + '</testsuites>\n';
}

function suite(path: string, findings: readonly Finding[], passed: readonly PassedCase[]): string {
  const failing = findings.filter(isFailure);
  const cases = [
    ...failing.map(failureCase),
    ...passed.map((p) => `    <testcase classname="${escape(path)}" name="${escape(p.name)}"/>\n`),
  ];
  if (cases.length === 0) cases.push(`    <testcase classname="${escape(path)}" name="no finding"/>\n`);
  return `  <testsuite name="${escape(path)}" tests="${cases.length}" failures="${failing.length}" errors="0">\n${cases.join('')}  </testsuite>\n`;
}

function failureCase(f: Finding): string {
  const where = `${f.path}:${f.start.line}:${f.start.column}`;
  return (
    `    <testcase classname="${escape(f.path)}" name="${escape(`${f.code} at ${f.start.line}:${f.start.column}`)}">\n` +
    `      <failure type="${escape(f.code)}" message="${escape(f.message)}">${escape(`${where}: ${f.message}`)}</failure>\n    </testcase>\n`
  );
}
