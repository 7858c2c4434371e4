/** `caisson explain CODE`: what a finding means. */
import { ALL_CODES } from '../../core/document/codes';
import { UsageError } from '../io';
import type { Command } from './command';

export const explain: Command = {
  name: 'explain',
  words: '[CODE]',
  summary: 'what a finding means; without a code: the list of all',
  help: [],
  options: {},
  run(io, words) {
    if (words.length === 0) {
      const width = Math.max(...ALL_CODES.map((c) => c.code.length));
      for (const c of ALL_CODES) io.out(`${c.code.padEnd(width)}  ${c.title}\n`);
      return 0;
    }
    for (const word of words) {
      const found = ALL_CODES.find((c) => c.code === word);
      if (!found) throw new UsageError(`There is no code ${word}; caisson explain lists all.`);
      io.out(`${found.code} (${found.severity}): ${found.title}\n\n${found.explanation}\n`);
    }
    return 0;
  },
};
