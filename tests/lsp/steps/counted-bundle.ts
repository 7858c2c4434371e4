/** The server, counting what it does. */
import type * as Gates from '../../../server/lsp/gate';
import type * as Servers from '../../../server/lsp/server';
import { countedProgram, type Ticking } from '../../support/counted';

/** The counted program. */
export interface Counted extends Ticking {
  readonly createServer: typeof Servers.createServer;
  readonly createGate: typeof Gates.createGate;
}

export const countedServer = (): Promise<Counted> =>
  countedProgram<Omit<Counted, keyof Ticking>>(
    "export { createServer } from './server/lsp/server'; export { createGate } from './server/lsp/gate';",
  );
