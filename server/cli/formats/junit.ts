/** JUnit XML. Of findings: one suite a file, one case a finding; a file without findings has one passing case. */
import { escapeXml as escape } from '../../core/diagram/kit/shape';
import { caution } from '../../core/report/caution';
import type { Finding } from '../findings';
import { valueProperties, type ValueRow } from '../values';

const isFailure = (f: Finding): boolean => f.severity === 'error' || f.severity === 'warning';

export function renderJunit(
  findings: readonly Finding[],
  paths: readonly string[],
  listed: readonly ValueRow[],
): string {
  const suites = paths.map((path) =>
    suite(
      path,
      findings.filter((f) => f.path === path),
      listed.filter((v) => v.path === path),
    ),
  );
  const failures = findings.filter(isFailure).length;
  const tests = suites.join('').split('<testcase ').length - 1;
  return junitDocument(tests, failures, suites);
}

/** The document around suites that are XML already. */
function junitDocument(tests: number, failures: number, suites: readonly string[]): string {
  const head = `<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="caisson" tests="${tests}" failures="${failures}" errors="0">\n`;
  return head + suites.join('') + '</testsuites>\n';
}

/** Properties of a suite: the schema puts them before its cases. */
const cautioned = (): string =>
  `    <properties>\n      <property name="caution" value="${escape(caution())}"/>\n    </properties>\n`;

const suiteOf = (name: string, tests: number, failures: number, cases: readonly string[]): string =>
  `  <testsuite name="${escape(name)}" tests="${tests}" failures="${failures}" errors="0">\n${cautioned()}${cases.join('')}  </testsuite>\n`;

/** One suite of cases that pass, or fail with a sentence. */
export function renderCases(
  suite: string,
  cases: readonly { readonly name: string; readonly failure: string | null }[],
): string {
  const failures = cases.filter((c) => c.failure !== null).length;
  const rows = cases.map(({ name, failure }) => {
    const head = `    <testcase classname="${escape(suite)}" name="${escape(name)}"`;
    return failure === null ? `${head}/>\n` : `${head}><failure message="${escape(failure)}"/></testcase>\n`;
  });
  return junitDocument(cases.length, failures, [suiteOf(suite, cases.length, failures, rows)]);
}

function suite(path: string, findings: readonly Finding[], listed: readonly ValueRow[]): string {
  const failing = findings.filter(isFailure);
  const cases = [
    ...failing.map((f) =>
      failureCase(
        f,
        listed.find((v) => isAt(f, v)),
      ),
    ),
    ...listed
      .filter((v) => v.value.verdict.state === 'met' && !findings.some((f) => isAt(f, v)))
      .map((v) => passedCase(path, v)),
  ];
  if (cases.length === 0) cases.push(`    <testcase classname="${escape(path)}" name="no finding"/>\n`);
  return suiteOf(path, cases.length, failing.length, cases);
}

const isAt = (f: Finding, { start }: ValueRow): boolean =>
  f.start.line === start.line && f.start.column === start.column;

/** A requirement that holds and has no finding. */
function passedCase(path: string, row: ValueRow): string {
  const head = `    <testcase classname="${escape(path)}" name="${escape(row.value.requirement.text)}"`;
  const inner = properties(row);
  return inner === '' ? `${head}/>\n` : `${head}>\n${inner}    </testcase>\n`;
}

function properties(row: ValueRow | undefined): string {
  const entries = row ? Object.entries(valueProperties(row)) : [];
  if (entries.length === 0) return '';
  const list = entries.map(([name, v]) => `        <property name="${escape(name)}" value="${escape(String(v))}"/>\n`);
  return `      <properties>\n${list.join('')}      </properties>\n`;
}

function failureCase(f: Finding, row: ValueRow | undefined): string {
  const where = `${f.path}:${f.start.line}:${f.start.column}`;
  const causes = f.related.filter((r) => r.cause !== undefined);
  const body = [
    `${where}: ${f.message}`,
    ...causes.map((r) => `${r.path}:${r.start.line}:${r.start.column}: ${r.message}`),
  ].join('\n');
  return (
    `    <testcase classname="${escape(f.path)}" name="${escape(`${f.code} at ${f.start.line}:${f.start.column}`)}">\n` +
    properties(row) +
    `      <failure type="${escape(f.code)}" message="${escape(f.message)}">${escape(body)}</failure>\n    </testcase>\n`
  );
}
