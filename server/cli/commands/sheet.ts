/** `caisson sheet`: the build sheet as Markdown or as one self-contained HTML page. */
import { pictureOf, type Panel } from '../../core/diagram/pictures';
import { pageHtml } from '../../core/report/page/html';
import { pageMarkdown } from '../../core/report/page/markdown';
import type { PageBlock } from '../../core/report/page/page';
import { allowedIn, findingsIn } from '../../core/document/allowed-in';
import { faultReport } from '../../core/readings/faults';
import { settingSlack } from '../../core/report/sheet/setting-slack';
import { sheetOf } from '../../core/report/sheet/sheet';
import type { RigFacts } from '../../core/run/facts';
import { openInputs } from '../inputs';
import { UsageError } from '../io';
import { selectRig } from '../select';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { refusal } from './refusal';

export const sheet: Command = {
  name: 'sheet',
  words: 'FILE|-',
  summary: 'the build sheet: parts, connections, settings, order of work, commissioning',
  help: [
    '--out FILE              write to a file (.md or .html); default: Markdown to standard output',
    '--format FORMAT         md or html (default: by the ending of --out)',
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    out: { type: 'string', short: 'o' },
    format: { type: 'string' },
    rig: { type: 'string' },
  },
  choices: { format: ['md', 'html'] },
  run(io, words, values) {
    const out = stringOf(values, 'out') ?? '-';
    const format = stringOf(values, 'format') ?? formatOf(out);
    if (format !== 'md' && format !== 'html') throw new UsageError(`--format is md or html, not ${format}.`);
    const inputs = openInputs(io, words, inputOptions(values));
    const { facts, input } = selectRig(inputs, stringOf(values, 'rig'));
    const refused = refusal(io, input, facts.rig);
    if (refused !== null) {
      io.err(`No build sheet: ${refused}\n`);
      return 1;
    }
    const page = sheetOf(facts, {
      pictures: format === 'html' ? pictures(facts) : [],
      slack: settingSlack(facts),
      faults: faultReport(facts),
      findings: findingsIn(input.document, facts.rig),
      allowed: allowedIn(input.document, facts.rig),
    });
    const data = format === 'html' ? pageHtml(page) : pageMarkdown(page);
    if (out === '-') io.out(data);
    else io.write(out, data);
    return 0;
  },
};

function formatOf(out: string): string {
  if (out === '-' || out.endsWith('.md')) return 'md';
  if (/\.html?$/.test(out)) return 'html';
  throw new UsageError(`--out wants a name that ends in .md or .html, not ${out}.`);
}

/** Timing and section, for the page; black on white, as it is printed. */
function pictures(facts: RigFacts): Extract<PageBlock, { kind: 'picture' }>[] {
  const stroke = facts.timing.strokes[0] ?? null;
  const title = facts.rig.title || facts.rig.name;
  const alts: [Panel, string][] = [
    ['timing', `Timing diagram of one stroke of ${title}.`],
    ['section', `Section of ${title} as the trigger comes.`],
  ];
  return alts.flatMap(([panel, alt]) => {
    const svg = pictureOf(facts, panel, { look: 'print', width: 960, stroke });
    return svg === null ? [] : [{ kind: 'picture' as const, name: panel, alt, svg }];
  });
}
