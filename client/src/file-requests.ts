/** Answers to the server for files it cannot reach itself: virtual file systems, the browser. */
import { FileType, Uri, workspace } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import {
  LIST_FILES,
  READ_FILE,
  type ListFilesResult,
  type ReadFileParams,
  type ReadFileResult,
} from '../../server/protocol/messages';
import { say } from '../../server/core/words/say';
import { decodeText, sizeTrouble } from '../../server/protocol/text-bytes';
import { SAVED_SCHEME, originalOf } from './saved-text';

const MOST_FILES = 5_000;

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
    const { type, size } = await workspace.fs.stat(uri);
    if ((type & FileType.File) === 0) return { text: null, reason: say`is not a file` };
    const large = sizeTrouble(size);
    if (large !== null) return { text: null, reason: large };
    const decoded = decodeText(await workspace.fs.readFile(uri));
    return decoded.ok ? { text: decoded.text } : { text: null, reason: decoded.reason };
  } catch {
    return { text: null };
  }
}
