/**
 * The one program that is built, `dist/caisson.js`. What it does depends on who loads it: started as a program it is the command
 * line (and with `serve` the language server), loaded by a web worker it is the language server, loaded as a module it only gives
 * `drawFence`. One file instead of four keeps the packaged extension small. The bundler adds `module` where there is none.
 */
import { drawFence } from '../core/features/fence';

export { drawFence };

const isWorker = typeof require === 'undefined' && 'importScripts' in globalThis;
const isProgram = !isWorker && require.main !== undefined && require.main === module;

if (isWorker) void import('../lsp/browser-main');
if (isProgram) void import('../cli/bin');
