/** Findings as workflow commands of GitHub Actions (documented escapes: `%`, CR, LF; in properties also `:` and `,`). */
import type { Severity } from '../../core/model/problem';
import type { Finding } from '../findings';

const LEVELS: Record<Severity, string> = { error: 'error', warning: 'warning', information: 'notice', hint: 'notice' };

const data = (text: string): string => text.replace(/%/g, '%25').replace(/\r/g, '%0D').replace(/\n/g, '%0A');
const property = (text: string): string => data(text).replace(/:/g, '%3A').replace(/,/g, '%2C');

export function renderGithub(findings: readonly Finding[]): string {
  return findings
    .map(
      (f) =>
        `::${LEVELS[f.severity]} file=${property(f.path)},line=${f.start.line},col=${f.start.column},` +
        `endLine=${f.end.line},endColumn=${f.end.column},title=${property(f.code)}::${data(f.message)}\n`,
    )
    .join('');
}
