/** `caisson prove`: answers for every moment at which inputs may change and every time within tolerance. */
import { noted } from '../../core/diagram/kit/noted';
import { renderTimingSvg } from '../../core/diagram/timing/svg';
import { proofReport } from '../../core/report/proof-report';
import { counterExample } from '../../core/features/proof-results';
import { isIncomplete } from '../../core/features/lookup';
import { caution } from '../../core/report/caution';
import type { RigProof } from '../../core/run/prove-rig';
import { openInputs } from '../inputs';
import { UsageError, type Io } from '../io';
import { beginProof, BUDGET_HELP, BUDGET_OPTIONS, budgetOf, runProof } from '../proving';
import { proofRecordJson } from '../proof-record';
import { someRigs } from '../select';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { blockingErrors } from './blocking';
import { taken } from '../taken';

export const prove: Command = {
  name: 'prove',
  words: 'FILE|FOLDER|- …',
  summary:
    'prove what must always or never be, for every input and tolerance; exit code 1 where anything is not proved',
  help: [
    '--json                  the same as JSON: a record that caisson check --proofs compares',
    '--rig NAME              only this rig',
    '--only TEXT             only what has this in its name: --only "gap(upper, lower)"',
    ...BUDGET_HELP,
    '--diagram FILE          write the first counter-example as SVG',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    json: { type: 'boolean' },
    rig: { type: 'string' },
    only: { type: 'string' },
    ...BUDGET_OPTIONS,
    diagram: { type: 'string' },
  },
  run(io, words, values) {
    const budget = budgetOf(values);
    const inputs = openInputs(io, words, inputOptions(values));
    const rigs = someRigs(inputs, stringOf(values, 'rig')).map(({ facts }) => facts.rig);
    for (const rig of rigs.filter(isIncomplete))
      io.err(`${rig.name} has mistakes in its control, so nothing is proved about it.\n`);
    const only = stringOf(values, 'only') ?? '';
    const asked = rigs.filter((rig) => !isIncomplete(rig)).map((rig) => beginProof(rig, only));
    if (only !== '' && asked.length > 0 && asked.every(({ rigProof }) => rigProof.proof.results().length === 0))
      throw new UsageError(`Nothing that is asked has "${only}" in its name; caisson prove lists the names.`);
    const proofs = asked
      .filter(({ rigProof }) => only === '' || rigProof.proof.results().length > 0)
      .map((begun) => runProof(io, begun, budget));
    if (values['json']) io.out(taken(proofRecordJson(proofs) as object));
    else io.out(proofs.map((p) => proofReport(p).join('\n') + '\n').join('\n') + `\n${caution()}\n`);
    writeDiagram(io, proofs, stringOf(values, 'diagram'));
    const sound =
      !rigs.some(isIncomplete) && proofs.every((p) => p.proof.results().every((r) => r.verdict.state === 'proved'));
    return Math.max(blockingErrors(io, inputs), sound ? 0 : 1);
  },
};

function writeDiagram(io: Io, proofs: readonly RigProof[], file: string | undefined): void {
  if (file === undefined) return;
  for (const { rig, proof } of proofs) {
    for (const { property, verdict } of proof.results()) {
      if (verdict.state !== 'refuted') continue;
      io.write(file, noted(renderTimingSvg(counterExample(rig, verdict.trace, property.name)), caution()));
      return;
    }
  }
  io.err('There is no counter-example to draw.\n');
}
