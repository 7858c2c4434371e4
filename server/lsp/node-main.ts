/**
 * The server as a Node program: `--stdio`, `--node-ipc`, `--socket=PORT` or `--pipe=NAME`. Standard output carries messages only.
 * Ends when the client's process dies or closes the connection (the protocol library watches both), or no longer reads.
 */
import './quiet-console';
import { createConnection } from 'vscode-languageserver/node';
import { createGate } from './gate';
import { nodeHost } from './node-host';
import { createServer } from './server';
import { VERSION } from './version';

// A client that has closed its end reads no more answers: there is nobody left to serve.
process.stdout.on('error', () => process.exit(0));
process.stderr.on('error', () => undefined);

const gate = createGate();
createServer(createConnection({ messageStrategy: gate.messageStrategy }), nodeHost(VERSION), gate);
