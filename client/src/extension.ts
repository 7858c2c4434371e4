/** Entry of the extension where it runs on a machine: the language server is a process of its own. */
import { spawn } from 'node:child_process';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import type { ExtensionContext } from 'vscode';
import { LanguageClient, TransportKind } from 'vscode-languageclient/node';
import { activateCommon, type Activation } from './activate-common';
import type { CommandLineRun, DrawFence, Platform } from './platform';

/** Tells failures to the log only (what the user should hear comes from `activate-common`); leaves no process behind. */
class ProcessClient extends LanguageClient {
  override error(message: string, data?: unknown): void {
    super.error(message, data, false);
  }

  override async dispose(timeoutMs?: number): Promise<void> {
    const child = this.serverProcess;
    try {
      await super.dispose(timeoutMs);
    } finally {
      child?.kill();
    }
  }
}

let activation: Activation | null = null;

export function activate(context: ExtensionContext): Activation['api'] {
  activation = activateCommon(context, nodePlatform(context));
  return activation.api;
}

export async function deactivate(): Promise<void> {
  await activation?.stop();
}

/** The desktop editor's program is Electron: this makes it behave as Node. */
const AS_NODE = { ELECTRON_RUN_AS_NODE: '1' };

function nodePlatform(context: ExtensionContext): Platform {
  const program = context.asAbsolutePath(join('dist', 'caisson.js'));
  return {
    name: 'node',
    createClient(options) {
      const module = process.env['CAISSON_TEST_SERVER'] ?? program;
      const server = { module, args: ['serve'], transport: TransportKind.ipc };
      const debug = { ...server, options: { execArgv: ['--nolazy', '--inspect=6017'] } };
      return new ProcessClient('caisson', 'Caisson', { run: server, debug }, options);
    },
    loadDrawFence: () => (createRequire(program)(program) as { drawFence: DrawFence }).drawFence,
    commandLine: {
      program: process.execPath,
      script: program,
      env: AS_NODE,
      run: (words, cwd, signal) => run([program, ...words], cwd, signal),
    },
  };
}

function run(words: readonly string[], cwd: string, signal: AbortSignal): Promise<CommandLineRun> {
  return new Promise((done, failed) => {
    const env = { ...process.env, ...AS_NODE };
    const child = spawn(process.execPath, words, { cwd, env, signal, stdio: ['ignore', 'ignore', 'pipe'] });
    let error = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => (error += text));
    child.on('error', failed);
    child.on('close', (code) => done({ code: code ?? 1, error }));
  });
}
