/** Findings as SARIF 2.1.0 (OASIS, Static Analysis Results Interchange Format). Columns in UTF-16 code units, stated in the file. */
import type { Severity } from '../../core/model/problem';
import type { Finding } from '../findings';

const LEVELS: Record<Severity, string> = { error: 'error', warning: 'warning', information: 'note', hint: 'note' };

export interface RuleText {
  readonly code: string;
  readonly title: string;
}

export function renderSarif(findings: readonly Finding[], version: string, rules: readonly RuleText[]): string {
  const used = rules.filter((rule) => findings.some((f) => f.code === rule.code));
  const region = (f: Finding): object => ({
    startLine: f.start.line,
    startColumn: f.start.column,
    endLine: f.end.line,
    endColumn: f.end.column,
  });
  const place = (path: string, area: object): object => ({
    physicalLocation: { artifactLocation: { uri: encodeURI(path) }, region: area },
  });
  const log = {
    $schema: 'https://json.schemastore.org/sarif-2.1.0.json',
    version: '2.1.0',
    runs: [
      {
        columnKind: 'utf16CodeUnits',
        tool: {
          driver: {
            name: 'caisson',
            version,
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
        })),
      },
    ],
  };
  return JSON.stringify(log, null, 2) + '\n';
}
