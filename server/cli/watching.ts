/** `--watch`: a command again and again, whenever what it read has changed. */
import { UsageError, type Io } from './io';

/** What a command that can watch takes beside its own options. */
export const WATCH_OPTION = { watch: { type: 'boolean' } } as const;
export const WATCH_HELP = ['--watch                 again whenever a file that was read changes; Ctrl+C ends'];

/**
 * Runs `once`, then again after every change, until there is nothing to wait for any more. A mistake of the first run ends it, as without
 * `--watch`; later ones, such as a file that is gone while an editor writes it, are reported and waited out.
 */
export async function watching(io: Io, once: () => number | Promise<number>): Promise<number> {
  let code = await once();
  for (let runs = 1; ; runs++) {
    io.err(runs === 1 ? 'Watching for changes; Ctrl+C ends.\n' : '');
    if (!(await io.changed())) return code;
    io.out('\n');
    try {
      code = await once();
    } catch (error) {
      if (!(error instanceof UsageError)) throw error;
      io.err(`caisson: ${error.message}\n`);
      code = 2;
    }
  }
}
