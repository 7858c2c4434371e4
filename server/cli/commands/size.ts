/** `caisson size`: pockets, openings, interval and feeds that fill a chamber in a given time, as a trade-off. */
import { sizeWork } from '../../core/choose/size/size';
import { canRead } from '../../core/choose/size/why-not';
import type { SizeTarget } from '../../core/choose/size/reach';
import { sizeJson, sizeReport } from '../../core/report/size-report';
import type { RigFacts } from '../../core/run/facts';
import { finish } from '../../core/work/work';
import { parseAmount, parseTime } from '../amounts';
import { openInputs } from '../inputs';
import { UsageError } from '../io';
import { selectRig } from '../select';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { taken } from '../taken';

export const size: Command = {
  name: 'size',
  words: 'FILE|- --target "CHAMBER AMOUNT in TIME"',
  summary: 'pockets, openings, intervals and feeds that reach a target in time, each row followed',
  help: [
    '--target "store 6 bar in 20 min"   what is wanted: a chamber, a pressure, density, mass or level, and the time',
    '--json                  the same as JSON: times in seconds, all else in SI units',
    '--rig NAME              this rig, where the file holds several',
    ...LET_HELP,
    'Exit code 1 where nothing reaches the target; the output says why.',
  ],
  options: { ...LET_OPTION, target: { type: 'string' }, json: { type: 'boolean' }, rig: { type: 'string' } },
  run(io, words, values) {
    if (words.length !== 1) throw new UsageError('Name one .rig file, or - for standard input.');
    const asked = stringOf(values, 'target');
    if (asked === undefined)
      throw new UsageError('--target says what is wanted, such as --target "store 6 bar in 20 min".');
    const inputs = openInputs(io, words, inputOptions(values));
    const { facts } = selectRig(inputs, stringOf(values, 'rig'));
    const blocked = blockingErrors(io, inputs);
    const sized = finish(sizeWork(facts, targetOf(asked, facts)));
    if (!sized.ok) throw new UsageError(sized.message);
    const { answer } = sized;
    if (values['json']) io.out(taken(sizeJson(answer)));
    else io.out(sizeReport(answer).join('\n') + '\n');
    return Math.max(answer.rows.length === 0 ? 1 : 0, blocked);
  },
};

const SENSED = { pressure: 'pressure', density: 'density', mass: 'mass', length: 'level' } as const;

function targetOf(asked: string, facts: RigFacts): SizeTarget {
  const match = /^\s*(\S+)\s+(.+?)\s+in\s+(.+?)\s*$/u.exec(asked);
  if (!match)
    throw new UsageError(
      `--target wants a chamber, an amount and a time, such as "store 6 bar in 20 min", not "${asked}".`,
    );
  const [, name, amount, time] = match as unknown as [string, string, string, string];
  const chamber = facts.rig.chambers.findIndex((c) => c.name === name.normalize('NFC'));
  if (chamber < 0)
    throw new UsageError(
      `--target: ${facts.rig.name} has no chamber ${name}; it has ${facts.rig.chambers.map((c) => c.name).join(', ')}.`,
    );
  const { value, dimension } = parseAmount('--target', amount);
  const sensed = SENSED[dimension as keyof typeof SENSED] as (typeof SENSED)[keyof typeof SENSED] | undefined;
  if (sensed === undefined) throw new UsageError(`--target: ${amount} is not a pressure, density, mass or level.`);
  const target = { chamber, sensed, value, within: parseTime('--target', time) / 1e6 };
  if (facts.rig.chambers[chamber]!.endless)
    throw new UsageError(`--target: ${name} has no volume, so nothing fills it.`);
  if (!canRead(facts, target)) throw new UsageError(`--target: the medium has no ${sensed} in ${name}.`);
  return target;
}
