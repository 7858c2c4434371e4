/** `caisson new KIND [FILE.rig]`: a sound rig to start from. Never takes the place of a file. */
import { resolve } from 'node:path';
import { NEW_RIGS, type NewRig } from '../../core/report/new-rigs';
import { shortened, UsageError } from '../io';
import { stringOf, type Command } from './command';

const KINDS = Object.keys(NEW_RIGS) as NewRig[];

export const newCommand: Command = {
  name: 'new',
  words: `${KINDS.join('|')} [FILE.rig]`,
  summary: 'a sound rig to start from: a lock with a vent, a pump, a liquid lift, a small bench rig',
  help: ['--out FILE.rig          write to a new file, as FILE.rig does (default: standard output)'],
  options: { out: { type: 'string', short: 'o' } },
  choices: { '': KINDS },
  run(io, words, values) {
    const kind = KINDS.find((k) => k === words[0]);
    if (kind === undefined)
      throw new UsageError(`new wants one of ${KINDS.join(', ')}${words[0] ? `, not ${shortened(words[0])}` : ''}.`);
    const option = stringOf(values, 'out');
    const out = option ?? words[1];
    if (words.length > 2 || (option !== undefined && words.length > 1)) throw new UsageError('new writes one file.');
    if (out === undefined || out === '-') io.out(NEW_RIGS[kind]);
    else {
      const path = resolve(io.cwd, out);
      if (!/\.rig$/i.test(out)) throw new UsageError(`${shortened(out)} does not end in .rig.`);
      if (io.kind(path) !== null) throw new UsageError(`${shortened(out)} is there already; give another name.`);
      io.rewrite(path, NEW_RIGS[kind]);
      io.out(`${out}: written; next: caisson check ${out}\n`);
    }
    return 0;
  },
};
