/** What differs between the editor on a machine (Node) and in a browser; everything else is shared. */
import type { BaseLanguageClient, LanguageClientOptions } from 'vscode-languageclient';

/** Text of one fenced block → HTML, or null where it holds no rig that can be drawn; `idPrefix` keeps pictures of one page apart. */
export type DrawFence = (text: string, idPrefix: string) => string | null;

export interface Platform {
  readonly name: 'node' | 'browser';
  /** A new client for a new server; called again at each restart. */
  createClient(options: LanguageClientOptions): BaseLanguageClient;
  /** Loaded at the first fenced block only; a promise where loading takes a while. */
  loadDrawFence(): DrawFence | Promise<DrawFence>;
  /** Program and environment that run `dist/caisson.js`; null where no program can be started. */
  readonly commandLine: {
    readonly program: string;
    readonly script: string;
    readonly env: Record<string, string>;
    /** Runs it in a folder, and waits for its end; rejects where it does not start or is aborted. */
    run(words: readonly string[], folder: string, signal: AbortSignal): Promise<CommandLineRun>;
  } | null;
}

export interface CommandLineRun {
  readonly code: number;
  /** What it wrote to its standard error. */
  readonly error: string;
}
