/** How the language client is set up: which documents, which log, what happens when the server ends by itself. */
import { l10n, Uri, workspace, type LogOutputChannel, type TextDocument } from 'vscode';
import {
  CloseAction,
  ErrorAction,
  RevealOutputChannelOn,
  type ErrorHandler,
  type LanguageClientOptions,
} from 'vscode-languageclient';
import { SETTINGS_SECTION } from '../../server/protocol/settings';
import type { InitializationOptions } from '../../server/protocol/messages';
import { SAVED_SCHEME } from './saved-text';

/** Views of older or foreign states of a file: coloured and hovered over, but without problems of their own. */
const WITHOUT_PROBLEMS: readonly string[] = [
  SAVED_SCHEME,
  'git',
  'git-commit',
  'gitlens',
  'review',
  'vscode-local-history',
];

/** False for documents that show an older state of a file. */
export function hasProblems(uri: Uri): boolean {
  return !WITHOUT_PROBLEMS.includes(uri.scheme);
}

export interface ClientOptionsInput {
  readonly log: LogOutputChannel;
  readonly extensionUri: Uri;
  /** Asked when the connection closes without having been asked to: whether to start the server again. */
  readonly restartAfterCrash: () => boolean;
}

export function clientOptions(input: ClientOptionsInput): LanguageClientOptions {
  const initializationOptions: InitializationOptions = {
    files: true,
    preview: true,
    ...(l10n.bundle ? { words: l10n.bundle } : {}),
    trusted: workspace.isTrusted,
    reference: Uri.joinPath(input.extensionUri, 'grammar', 'REFERENCE.md').toString(),
  };
  return {
    // No scheme: files, untitled texts and virtual file systems alike.
    documentSelector: [{ language: 'rig' }],
    outputChannel: input.log,
    revealOutputChannelOn: RevealOutputChannelOn.Never,
    initializationOptions,
    initializationFailedHandler: () => false,
    synchronize: {
      configurationSection: SETTINGS_SECTION,
      fileEvents: workspace.createFileSystemWatcher('**/*.rig'),
    },
    diagnosticPullOptions: {
      onChange: true,
      onSave: true,
      filter: (document: TextDocument) => !hasProblems(document.uri),
    },
    middleware: {
      handleDiagnostics: (uri, diagnostics, next) => next(uri, hasProblems(uri) ? diagnostics : []),
    },
    errorHandler: errorHandler(input.restartAfterCrash),
  };
}

function errorHandler(restartAfterCrash: () => boolean): ErrorHandler {
  return {
    // A server that ended refuses messages before its connection is seen to be closed. Shutting down then would count as a wanted
    // stop, and the server would stay away; whether it ended is for `closed` alone to say.
    error: () => ({ action: ErrorAction.Continue, handled: true }),
    closed: () => ({ action: restartAfterCrash() ? CloseAction.Restart : CloseAction.DoNotRestart, handled: true }),
  };
}
