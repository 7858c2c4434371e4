/** The section of REFERENCE.md about findings, written from the registries. */
import type { CodeInfo } from './check';
import { exampleLines, exampleOf } from './examples';

/** `door/overlap` → `door-overlap`: anchor in the reference, and name of the sample in `samples/broken`. */
export function anchorOf(code: string): string {
  return code.replace('/', '-');
}

/** Markdown of all codes, grouped as given; `sampled` says for which there is a sample. */
export function codesReference(codes: readonly CodeInfo[], sampled: (code: string) => boolean): string {
  const groups = [...new Set(codes.map((c) => c.code.split('/')[0]!))];
  return groups.map((group) => groupText(group, codes, sampled)).join('\n');
}

function groupText(group: string, codes: readonly CodeInfo[], sampled: (code: string) => boolean): string {
  const own = codes.filter((c) => c.code.startsWith(`${group}/`));
  const entries = own.map(({ code, title, severity, explanation }) => {
    const sample = sampled(code) ? ` Shown by \`samples/broken/${anchorOf(code)}.rig\`.` : '';
    // The heading holds the code alone, so that the anchor made of it by Markdown viewers depends on nothing else.
    return `#### <a id="${anchorOf(code)}"></a>\`${code}\`\n\n**${title}** (${severity}). ${explanation}${sample}\n${exampleText(code)}`;
  });
  return `### Findings \`${group}/…\`\n\n${entries.join('\n')}`;
}

function exampleText(code: string): string {
  const changes = exampleOf(code);
  return changes ? `\n\`\`\`diff\n${exampleLines(changes).join('\n')}\n\`\`\`\n` : '';
}
