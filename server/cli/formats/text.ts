/** Findings as lines that people and problem matchers read: `path:line:column: severity code: message`. */
import { visible } from '../../core/units/visible';
import type { Severity } from '../../core/model/problem';
import type { Finding, LineChange } from '../findings';

const COLOURS: Record<Severity, number> = { error: 31, warning: 33, information: 36, hint: 90 };

export function renderText(
  findings: readonly Finding[],
  files: number,
  look: { readonly colour: boolean; readonly allowed: number },
): string {
  const paint = (code: number, text: string): string => (look.colour ? `\u001b[${code}m${text}\u001b[0m` : text);
  const lines: string[] = [];
  for (const f of findings) {
    const where = `${visible(f.path)}:${f.start.line}:${f.start.column}`;
    lines.push(`${where}: ${paint(COLOURS[f.severity], f.severity)} ${f.code}: ${visible(f.message)}`);
    for (const r of f.related) lines.push(`    ${r.path}:${r.start.line}:${r.start.column}: ${visible(r.message)}`);
    f.fixes.forEach((fix, i) => {
      lines.push(`    quick fix: ${visible(fix)}`);
      for (const change of f.changes?.[i] ?? []) lines.push(...changeLines(change, f.path));
    });
    if (f.changes && f.noFix !== undefined) lines.push(`    no quick fix because ${visible(f.noFix)}`);
  }
  const allowed = look.allowed === 0 ? '' : ` ${look.allowed} more allowed by a comment.`;
  lines.push(summary(findings, files) + allowed);
  return lines.join('\n') + '\n';
}

/** The lines of a change, signed as in a unified difference; another file than the finding's is named. */
function changeLines({ path, line, before, after }: LineChange, own: string): string[] {
  const where = path === own ? `line ${line}` : `${path}:${line}`;
  return [
    `        ${visible(where)}`,
    ...before.map((text) => `      - ${visible(text)}`),
    ...after.map((text) => `      + ${visible(text)}`),
  ];
}

/** `2 files: 1 error, 3 warnings.` */
export function summary(findings: readonly Finding[], files: number): string {
  const count = (severity: Severity, one: string, many: string): string[] => {
    const n = findings.filter((f) => f.severity === severity).length;
    return n === 0 ? [] : [`${n} ${n === 1 ? one : many}`];
  };
  const parts = [
    ...count('error', 'error', 'errors'),
    ...count('warning', 'warning', 'warnings'),
    ...count('information', 'note', 'notes'),
    ...count('hint', 'hint', 'hints'),
  ];
  return `${files} ${files === 1 ? 'file' : 'files'}: ${parts.length === 0 ? 'no finding' : parts.join(', ')}.`;
}
