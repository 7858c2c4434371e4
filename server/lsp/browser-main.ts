/** The server in a web worker of the editor. Files are read through the client. */
import { BrowserMessageReader, BrowserMessageWriter, createConnection } from 'vscode-languageserver/browser';
import { createGate } from './gate';
import type { Host } from './host';
import { createServer } from './server';
import { VERSION } from './version';

/** The part of a worker's global scope that is used here; the project has no browser types. */
interface WorkerScope {
  postMessage(message: unknown): void;
}

const scope = globalThis as unknown as WorkerScope & ConstructorParameters<typeof BrowserMessageReader>[0];

/** A turn of the message loop, without the delay of a timer. */
function pause(): Promise<void> {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.addEventListener('message', () => {
      port1.close();
      resolve();
    });
    port1.start();
    port2.postMessage(null);
  });
}

const host: Host = {
  version: VERSION,
  reference: null,
  pause,
  now: () => performance.now(),
};

const gate = createGate();
const [reader, writer] = [new BrowserMessageReader(scope), new BrowserMessageWriter(scope)];
createServer(createConnection(reader, writer, { messageStrategy: gate.messageStrategy }), host, gate);
