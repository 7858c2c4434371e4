/** `caisson wire`: signals and drives that bring about a wanted sequence. */
import { fileURLToPath } from 'node:url';
import { applyEdits } from '../../core/document/apply-edits';
import { suggestWiring, type SuggestedSequence } from '../../core/document/suggest-sequence';
import { wireSequence } from '../../core/document/wire';
import { formatSi } from '../../core/units/units';
import { finish } from '../../core/work/work';
import type { RigDocument } from '../../core/document/document';
import type { TextEdit } from '../../core/model/problem';
import { openInputs, shown } from '../inputs';
import { UsageError, type Io } from '../io';
import { selectRig } from '../select';
import { caution } from '../../core/report/caution';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';

export const wire: Command = {
  name: 'wire',
  words: 'FILE|-',
  summary: 'signals and drives for a sequence, responses and scans made up for, verified',
  help: [
    '--sequence NAME         this sequence, where the rig holds several',
    '--blocks LIST           blocks that may be used, such as TON,TOF,TP (default: all)',
    '--suggest               a sequence for a rig without one, from its stacks and its medium',
    '--apply                 write them before the sequence, which stays as what is meant',
    '--rig NAME              this rig, where the file holds several',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    sequence: { type: 'string' },
    blocks: { type: 'string' },
    suggest: { type: 'boolean' },
    apply: { type: 'boolean' },
    rig: { type: 'string' },
  },
  run(io, words, values) {
    if (words.length !== 1) throw new UsageError('Name one .rig file, or - for standard input.');
    const inputs = openInputs(io, words, inputOptions(values));
    const { input, facts } = selectRig(inputs, stringOf(values, 'rig'));
    const { document } = input;
    const index = document.resolved().rigs.findIndex((r) => r.name === facts.rig.name);
    if (values['suggest'])
      return Math.max(
        suggest(io, document, finish(suggestWiring(document, index)), values['apply'] === true),
        blockingErrors(io, inputs),
      );
    const { sequences } = facts.rig;
    const name = stringOf(values, 'sequence');
    const chosen = name === undefined ? sequences : sequences.filter((s) => s.name === name);
    if (chosen.length !== 1)
      throw new UsageError(
        sequences.length === 0
          ? `${facts.rig.name} states no sequence to wire; --suggest proposes one.`
          : `Choose one sequence with --sequence: there is ${sequences.map((s) => s.name).join(', ')}.`,
      );
    const blocks = stringOf(values, 'blocks');
    const wired = wireSequence(
      document,
      index,
      chosen[0]!,
      blocks === undefined ? null : blocks.split(',').map((b) => b.trim()),
    );
    if (!wired.ok) throw new UsageError(wired.message);
    io.out(wired.statements.map((s) => `${s}\n`).join(''));
    const verified = wired.findings.length === 0;
    io.err(
      verified
        ? `Verified: with ${wired.blocks.join(', ')} the doors follow ${chosen[0]!.name}. ${caution()}\n`
        : `NOT verified, the wiring brings these findings:\n${wired.findings.map((f) => `  ${f}\n`).join('')}`,
    );
    if (values['apply'] && verified) write(io, document, wired.edit, 'wiring written');
    return Math.max(verified ? 0 : 1, blockingErrors(io, inputs));
  },
};

function write(io: Io, document: RigDocument, edit: TextEdit, what: string): void {
  const applied = applyEdits([edit], (uri) => (uri === document.uri ? document.text : document.readText(uri)));
  if (!applied.ok) throw new UsageError(applied.reason);
  for (const [uri, text] of applied.texts) {
    io.rewrite(fileURLToPath(uri), text);
    io.err(`${shown(io, fileURLToPath(uri))}: ${what}\n`);
  }
}

/** Prints a suggested sequence and its results; 1 where something is left to be found. */
function suggest(io: Io, document: RigDocument, suggested: SuggestedSequence, isApplied: boolean): number {
  if (!suggested.ok) throw new UsageError(suggested.message);
  const { statements, findings, moved, ended } = suggested;
  io.out(statements.map((s) => `${s.replace(/^ {2}/gm, '')}\n`).join(''));
  const masses = moved.map(({ chamber, mass }) =>
    mass === null
      ? `what a stroke brings to ${chamber} is not computed: state the medium and the volumes`
      : mass > 0
        ? `a stroke brings ${formatSi(mass, 'mass')} to ${chamber}`
        : `a stroke brings nothing to ${chamber}`,
  );
  io.err(
    findings.length === 0
      ? `Verified: check finds nothing; ${masses.join('; ')}. ${caution()}\n`
      : `NOT verified, these findings are left (${masses.join('; ')}):\n${findings.map((f) => `  ${f}\n`).join('')}`,
  );
  if (ended !== null) io.err(`${ended}\n`);
  if (isApplied && findings.length === 0) write(io, document, suggested.edit, 'sequence written');
  return findings.length === 0 ? 0 : 1;
}
