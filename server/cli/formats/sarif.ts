/** Findings as SARIF 2.1.0 (OASIS, Static Analysis Results Interchange Format). Columns in UTF-16 code units, stated in the file. */
import type { Severity } from '../../core/model/problem';
import { caution } from '../../core/report/caution';
import type { Finding } from '../findings';
import { valueJson, valueProperties, type ValueRow } from '../values';

const LEVELS: Record<Severity, string> = { error: 'error', warning: 'warning', information: 'note', hint: 'note' };

export interface RuleText {
  readonly code: string;
  readonly title: string;
}

/** Findings that a comment allows are results with a suppression in the source. `listed`: requirements of the files; the results about one, and the run, carry its value and slack as properties. */
export function renderSarif(
  findings: readonly Finding[],
  version: string,
  rules: readonly RuleText[],
  listed: readonly ValueRow[] = [],
): string {
  const used = rules.filter((rule) => findings.some((f) => f.code === rule.code));
  const region = (f: Finding): object => ({
    startLine: f.start.line,
    startColumn: f.start.column,
    endLine: f.end.line,
    endColumn: f.end.column,
  });
  const place = (path: string, area: object): object => ({
    physicalLocation: { artifactLocation: artifact(path), region: area },
  });
  const log = {
    $schema: 'https://json.schemastore.org/sarif-2.1.0.json',
    version: '2.1.0',
    runs: [
      {
        columnKind: 'utf16CodeUnits',
        originalUriBaseIds: { [BASE]: { description: { text: 'The folder the program was run in.' } } },
        tool: {
          driver: {
            name: 'caisson',
            version,
            fullDescription: { text: caution() },
            rules: used.map((r) => ({ id: r.code, shortDescription: { text: r.title } })),
          },
        },
        results: findings.map((f) => ({
          ruleId: f.code,
          level: LEVELS[f.severity],
          message: { text: f.message },
          locations: [place(f.path, region(f))],
          relatedLocations: f.related.map((r) => ({
            ...place(r.path, { startLine: r.start.line, startColumn: r.start.column }),
            message: { text: r.message },
          })),
          ...(f.why === undefined ? {} : { suppressions: [suppression(f.why)] }),
          ...propertiesAt(f, listed),
        })),
        ...(listed.length === 0 ? {} : { properties: { requirements: listed.map(valueJson) } }),
      },
    ],
  };
  return JSON.stringify(log, null, 2) + '\n';
}

const suppression = (why: string): object => ({ kind: 'inSource', ...(why === '' ? {} : { justification: why }) });

/** The name of the folder that relative addresses count from. */
const BASE = 'WORKING_FOLDER';

/** The address of a file: escaped, relative ones with their base. */
function artifact(path: string): object {
  const escaped = path.split('/').map(encodeURIComponent).join('/');
  if (path.startsWith('/')) return { uri: `file://${escaped}` };
  if (/^[A-Za-z]:/.test(path)) return { uri: `file:///${escaped}` };
  return /^[a-z][a-z0-9+.-]+:/i.test(path) ? { uri: encodeURI(path) } : { uri: escaped, uriBaseId: BASE };
}

function propertiesAt(f: Finding, listed: readonly ValueRow[]): object {
  const row = listed.find(
    (v) => v.path === f.path && v.start.line === f.start.line && v.start.column === f.start.column,
  );
  return row ? { properties: valueProperties(row) } : {};
}
