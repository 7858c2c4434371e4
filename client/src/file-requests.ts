/** Answers to the server for files it cannot reach itself: virtual file systems, the browser. */
import { Uri, workspace } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import {
  LIST_FILES,
  READ_FILE,
  type ListFilesResult,
  type ReadFileParams,
  type ReadFileResult,
} from '../../server/protocol/messages';
import { SAVED_SCHEME, originalOf } from './saved-text';

const MOST_FILES = 2_000;

/** Every `.rig` file of the open folders, without what the user has excluded. */
export function listRigFiles(): Thenable<Uri[]> {
  return workspace.findFiles('**/*.rig', undefined, MOST_FILES);
}

export function answerFileRequests(client: BaseLanguageClient): void {
  client.onRequest(READ_FILE, (params: ReadFileParams): Promise<ReadFileResult> => readFile(params.uri));
  client.onRequest(LIST_FILES, async (): Promise<ListFilesResult> => {
    const uris = await listRigFiles();
    return { uris: uris.map((uri) => uri.toString()) };
  });
}

async function readFile(address: string): Promise<ReadFileResult> {
  try {
    const named = Uri.parse(address, true);
    const uri = named.scheme === SAVED_SCHEME ? originalOf(named) : named;
    return { text: new TextDecoder().decode(await workspace.fs.readFile(uri)) };
  } catch {
    return { text: null };
  }
}
