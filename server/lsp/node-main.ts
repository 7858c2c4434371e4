/**
 * The server as a Node program: `--stdio`, `--node-ipc`, `--socket=PORT` or `--pipe=NAME`. Standard output carries messages only.
 * The same program is loaded by the threads that prove. Ends when the client's process dies or closes the connection (the protocol library watches both), or no longer reads.
 */
import './quiet-console';
import { createConnection } from 'vscode-languageserver/node';
import { createGate } from './gate';
import { nodeHost } from './node-host';
import { isProofThread, proofThreads, runProofThread } from './proof-thread';
import { createServer } from './server';
import { VERSION } from './version';

if (isProofThread()) runProofThread();
else serve();

function serve(): void {
  // A client that has closed its end reads no more answers: there is nobody left to serve.
  process.stdout.on('error', () => process.exit(0));
  process.stderr.on('error', () => undefined);
  const gate = createGate();
  const host = { ...nodeHost(VERSION), startProof: proofThreads(__filename) };
  createServer(createConnection({ messageStrategy: gate.messageStrategy }), host, gate);
}
