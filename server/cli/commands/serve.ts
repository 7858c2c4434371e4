/** `caisson serve`: the language server for any editor. */
import type { Command } from './command';

export const serve: Command = {
  name: 'serve',
  words: '--stdio',
  summary: 'run the language server (for editors)',
  help: [
    '--stdio                 talk over standard input and output',
    '--node-ipc, --socket=PORT, --pipe=NAME, --clientProcessId=N   as other language servers',
  ],
  options: {
    stdio: { type: 'boolean' },
    'node-ipc': { type: 'boolean' },
    socket: { type: 'string' },
    pipe: { type: 'string' },
    clientProcessId: { type: 'string' },
  },
  async run() {
    // The server module starts on import: it takes over the streams before anything can print to them.
    await import('../../lsp/node-main');
    return new Promise<number>(() => {});
  },
};
