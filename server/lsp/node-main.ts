/**
 * The server as a Node program: `--stdio`, `--node-ipc`, `--socket=PORT` or `--pipe=NAME`. Standard output carries messages only.
 * Ends when the client's process dies or closes the connection (the protocol library watches both).
 */
import './quiet-console';
import { createConnection } from 'vscode-languageserver/node';
import { nodeHost } from './node-host';
import { createServer } from './server';
import { VERSION } from './version';

createServer(createConnection(), nodeHost(VERSION));
