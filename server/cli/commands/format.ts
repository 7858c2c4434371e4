/** `caisson format`: puts files into the standard layout; `--check` only says which would change. */
import { formatText } from '../../../grammar/src/api';
import { openInputs } from '../inputs';
import type { Command } from './command';
import { resolve } from 'node:path';

export const format: Command = {
  name: 'format',
  words: 'FILE|FOLDER|- …',
  summary: 'put files into the standard layout (comments and line ends are kept)',
  help: ['--check                 change nothing; exit with 1 where a file would change'],
  options: { check: { type: 'boolean' }, 'stdin-filename': { type: 'string' } },
  run(io, words, values) {
    let exit = 0;
    for (const { path, document } of openInputs(io, words)) {
      const fromStdin = words.length === 1 && words[0] === '-';
      const result = formatText(document.text);
      if (result.text === null) {
        io.err(`${path}: left as it is: ${result.reason ?? 'it could not be formatted'}\n`);
        if (fromStdin && !values['check']) io.out(Buffer.from(document.text));
        exit = 1;
      } else if (fromStdin && !values['check']) {
        io.out(Buffer.from(result.text));
      } else if (result.text !== document.text) {
        if (values['check']) exit = 1;
        else io.rewrite(resolve(io.cwd, path), result.text);
        io.out(`${path}: ${values['check'] ? 'would change' : 'formatted'}\n`);
      }
    }
    return exit;
  },
};
