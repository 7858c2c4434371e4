/** What the commands that read a log share: the rig, its log, and the course of operations to hold it against. */
import { resolve } from 'node:path';
import type { LogProblem, RigLog } from '../core/readings/log';
import { withPlaces } from '../core/readings/change-place';
import { LogReader, MOST_PROBLEMS } from '../core/readings/log-csv';
import { stimulusOf, type Stimulus } from '../core/readings/stimulus';
import { unitQuestion } from '../core/readings/unit-question';
import type { Rig } from '../core/model/rig';
import type { RigFacts } from '../core/run/facts';
import { refusal } from './commands/refusal';
import { inputOptions, stringOf, type Values } from './commands/command';
import { openInputs } from './inputs';
import { UsageError, type Io } from './io';
import { selectRig, selectScenario } from './select';
import { noStroke } from '../core/timing/no-stroke';

/** Logs are longer than rigs: 256 MB, read in pieces, so that what is kept are the numbers alone. */
const MOST_LOG_BYTES = 256 * 1024 * 1024;

export interface LoggedRig {
  readonly facts: RigFacts;
  readonly log: RigLog;
  readonly logPath: string;
  readonly stimulus: Stimulus;
}

/** Null where the log cannot be read: reported on `io`, exit code 2. */
export function loggedRig(io: Io, command: string, words: readonly string[], values: Values): LoggedRig | null {
  const [rigWord, logPath, ...rest] = words;
  if (rigWord === undefined || logPath === undefined || rest.length > 0)
    throw new UsageError(`${command} needs a rig file and one log.`);
  const facts = soundFacts(io, rigWord, values);
  const log = logFor(io, facts.rig, logPath, values);
  if (!log) return null;
  if (log.doors.length + log.states.length === 0)
    throw new UsageError(`${command} needs a column of a door or of a signal.`);
  const scenario = selectScenario(facts.rig, stringOf(values, 'scenario'));
  const stimulus = stimulusOf(facts.rig, facts.timing, log, scenario);
  if (!stimulus) {
    const { name } = facts.rig;
    const none = `Nothing starts a stroke of ${name}; choose a scenario with --scenario.`;
    throw new UsageError(noStroke(name, facts.timing, none));
  }
  return { facts, log: withPlaces(facts, log, stimulus), logPath, stimulus };
}

/** The log for a rig; null where it cannot be read or a unit of it is in doubt: reported on `io` in one sentence, exit code 2. */
export function logFor(io: Io, rig: Rig, logPath: string, values: Values): RigLog | null {
  const reader = new LogReader(rig);
  io.readPieces(resolve(io.cwd, logPath), MOST_LOG_BYTES, (text) => reader.push(text));
  const reading = reader.end();
  if (!reading.ok) {
    const [first, ...more] = reading.problems as [LogProblem, ...LogProblem[]];
    const count =
      more.length === 1
        ? '1 more line'
        : `${more.length >= MOST_PROBLEMS - 1 ? 'at least ' : ''}${more.length} more lines`;
    const others = more.length > 0 ? ` (${count} cannot be read)` : '';
    io.err(`${logPath}:${first.line}:1: error log: ${first.message}${others}\n`);
    return null;
  }
  const doubt = values['trust-units'] === true ? null : unitQuestion(rig, reading.log);
  if (doubt === null) return reading.log;
  io.err(`${logPath}:1:1: error log: ${doubt}\n`);
  return null;
}

/** Facts of the one rig chosen, whose control could be read in full. */
export function soundFacts(io: Io, rigWord: string, values: Values): RigFacts {
  const { facts, input } = selectRig(openInputs(io, [rigWord], inputOptions(values)), stringOf(values, 'rig'));
  const why = refusal(io, input, facts.rig);
  if (why !== null) throw new UsageError(`There is no answer: ${why}`);
  return facts;
}
