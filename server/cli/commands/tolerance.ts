/** `caisson tolerance`: guaranteed and likely windows, and how much each requirement can stand. */
import { endOfStudy, studyTolerance, toleranceJson, toleranceReport } from '../../core/report/tolerance-report';
import { seededRandom } from '../../core/timing/tolerance';
import { openInputs } from '../inputs';
import { someRigs } from '../select';
import { blockingErrors } from './blocking';
import { countOf, inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { taken } from '../taken';

/** Runs for likely windows; every one of them keeps a time for every window. */
const MOST_SAMPLES = 1_000_000;

export const tolerance: Command = {
  name: 'tolerance',
  words: 'FILE|FOLDER|- …',
  summary: 'guaranteed and likely windows, and what breaks each requirement first',
  help: [
    '--json                  the same as JSON',
    '--rig NAME              only this rig',
    '--samples N             runs for likely windows (default 2000)',
    '--seed N                seed of the drawn times (default 1)',
    '--runs N                runs of the engine for each question about a requirement (default 400)',
    '--seconds N             stop after this time; what was not reached is named (default: no limit)',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    json: { type: 'boolean' },
    rig: { type: 'string' },
    samples: { type: 'string' },
    seed: { type: 'string' },
    runs: { type: 'string' },
    seconds: { type: 'string' },
  },
  run(io, words, values) {
    const samples = countOf(values, 'samples', 2000, 10, MOST_SAMPLES);
    const seed = countOf(values, 'seed', 1, 0);
    const runs = countOf(values, 'runs', 400, 1);
    const seconds = stringOf(values, 'seconds') === undefined ? Infinity : countOf(values, 'seconds', 1, 1);
    const end = Date.now() + seconds * 1000;
    const inputs = openInputs(io, words, inputOptions(values));
    const studies = someRigs(inputs, stringOf(values, 'rig')).map(({ facts }) =>
      studyTolerance(
        facts,
        { samples, random: seededRandom(seed), reach: 60_000_000, most: 0.5, runs },
        () => Date.now() > end,
      ),
    );
    if (values['json']) io.out(taken({ seed, samples, rigs: studies.map(toleranceJson) }));
    else io.out(studies.map((s) => toleranceReport(s, seed).join('\n') + '\n').join('\n'));
    const ended = studies.map(endOfStudy).filter((sentence) => sentence !== null);
    for (const sentence of ended) io.err(`caisson: ${sentence}\n`);
    return Math.max(ended.length > 0 ? 1 : 0, blockingErrors(io, inputs));
  },
};
