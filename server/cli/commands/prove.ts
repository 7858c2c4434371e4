/** `caisson prove`: answers for every moment at which inputs may change and every time within tolerance. */
import { renderTimingSvg } from '../../core/diagram/timing-svg';
import { traceModel } from '../../core/diagram/timing-model';
import { proofJson, proofReport } from '../../core/report/proof-report';
import { CAUTION } from '../../core/report/caution';
import { proveRig, type RigProof } from '../../core/run/prove-rig';
import { openInputs } from '../inputs';
import { UsageError, type Io } from '../io';
import { selectRigs } from '../select';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command, type Values } from './command';
import { blockingErrors } from './blocking';

const TURN = 500;

interface Budget {
  readonly states: number;
  readonly bytes: number;
  readonly seconds: number;
}

export const prove: Command = {
  name: 'prove',
  words: 'FILE|FOLDER|- …',
  summary:
    'prove what must always or never be, for every input and tolerance; exit code 1 where anything is not proved',
  help: [
    '--json                  the same as JSON',
    '--rig NAME              only this rig',
    '--states N              give up after N symbolic states (default 200000)',
    '--seconds N             give up after N seconds a rig (default 60)',
    '--memory MIB            give up when the zones take this much (default 1024)',
    '--diagram FILE          write the first counter-example as SVG',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    json: { type: 'boolean' },
    rig: { type: 'string' },
    states: { type: 'string' },
    seconds: { type: 'string' },
    memory: { type: 'string' },
    diagram: { type: 'string' },
  },
  run(io, words, values) {
    const budget = budgetOf(values);
    const inputs = openInputs(io, words, inputOptions(values));
    const proofs = selectRigs(inputs, stringOf(values, 'rig')).map(({ facts }) =>
      work(io, proveRig(facts.rig), budget),
    );
    if (values['json']) io.out(JSON.stringify({ rigs: proofs.map(proofJson) }, null, 2) + '\n');
    else io.out(proofs.map((p) => proofReport(p).join('\n') + '\n').join('\n') + `\n${CAUTION}\n`);
    writeDiagram(io, proofs, stringOf(values, 'diagram'));
    const sound = proofs.every((p) => p.proof.results().every((r) => r.verdict.state === 'proved'));
    return Math.max(blockingErrors(io, inputs), sound ? 0 : 1);
  },
};

function budgetOf(values: Values): Budget {
  const read = (name: string, standard: number): number => {
    const text = stringOf(values, name);
    const value = text === undefined ? standard : Number(text);
    if (!(value > 0) || value === Infinity) throw new UsageError(`--${name} wants a number above zero, not ${text}.`);
    return value;
  };
  return { states: read('states', 200_000), seconds: read('seconds', 60), bytes: read('memory', 1024) * 1024 * 1024 };
}

function work(io: Io, rigProof: RigProof, budget: Budget): RigProof {
  const { proof, rig } = rigProof;
  const started = Date.now();
  let said = started;
  while (!proof.run(TURN)) {
    const now = Date.now();
    if (proof.explored >= budget.states || proof.bytes >= budget.bytes || now - started >= budget.seconds * 1000) break;
    if (io.colour && now - said > 1000) {
      io.err(`${rig.name}: ${proof.explored} symbolic states …\n`);
      said = now;
    }
  }
  return rigProof;
}

function writeDiagram(io: Io, proofs: readonly RigProof[], file: string | undefined): void {
  if (file === undefined) return;
  for (const { rig, proof } of proofs) {
    for (const { property, verdict } of proof.results()) {
      if (verdict.state !== 'refuted') continue;
      io.write(
        file,
        renderTimingSvg(traceModel(rig, verdict.trace, `Counter-example: ${property.name}`), {
          look: 'light',
          width: 1000,
        }),
      );
      return;
    }
  }
  io.err('There is no counter-example to draw.\n');
}
