/** Texts of files that are not open: read where the host can, asked from the client where it cannot, kept until they change. */
import type { Connection } from 'vscode-languageserver';
import type { ListFilesResult, ReadFileResult } from '../protocol/messages';
import { LIST_FILES, READ_FILE } from '../protocol/messages';
import type { DecodedText } from '../protocol/text-bytes';
import type { Host } from './host';
import { say } from '../core/words/say';

export interface Files {
  /** The text if it is known; otherwise undefined, and `changed` is called once the client has answered. */
  read(uri: string): string | undefined;
  /** Why a file that was asked for is refused: a clause to stand after its name. */
  why(uri: string): string | undefined;
  /** Forgets what is known of these files, and the list of files. */
  forget(uris: readonly string[]): void;
  /** The same for all files. */
  forgetAll(): void;
  /** Gives the memory of one text back; it is read again when asked for. */
  drop(uri: string): void;
  /** The text, waiting for the client where needed. */
  fetch(uri: string): Promise<string | undefined>;
  /** All `.rig` files of the folders. */
  list(folders: readonly string[]): Promise<string[]>;
}

export interface FilesNeeds {
  readonly host: Host;
  readonly connection: Connection;
  /** Whether the client answers the file requests. */
  readonly askClient: () => boolean;
  /** Whether the client tells of files that come, go or change; only then is a list of files kept. */
  readonly isWatched: () => boolean;
  /** Folders that files must lie in, null where they may lie anywhere. */
  readonly within: () => readonly string[] | null;
  /** Called with files whose text arrived late. */
  readonly changed: (uri: string) => void;
}

export function createFiles({ host, connection, askClient, isWatched, within, changed }: FilesNeeds): Files {
  const known = new Map<string, DecodedText>();
  const waiting = new Map<string, Promise<DecodedText>>();
  let listed: { readonly key: string; readonly uris: string[] } | null = null;

  const ask = (uri: string): Promise<DecodedText> => {
    const pending = waiting.get(uri) ?? askText(connection, uri).finally(() => waiting.delete(uri));
    waiting.set(uri, pending);
    return pending;
  };
  /** What can be known without the client; undefined where it has to be asked. */
  const here = (uri: string): DecodedText | undefined => {
    const read = known.get(uri) ?? host.readFile?.(uri, within()) ?? (mayAsk(uri) ? undefined : missing());
    if (read) known.set(uri, read);
    return read;
  };
  // Other addresses than those of file systems that the client has opened are nothing to read from.
  const mayAsk = (uri: string): boolean =>
    askClient() && (within() === null || within()!.some((folder) => isBelow(folder, uri)));
  const fetch = async (uri: string): Promise<string | undefined> => {
    const read = here(uri) ?? (await ask(uri));
    known.set(uri, read);
    return textOf(read);
  };
  const listAll = async (folders: readonly string[]): Promise<string[]> => {
    if (host.listFiles) return host.listFiles(folders);
    return askClient() ? askList(connection) : [];
  };
  return {
    read: (uri) => {
      const read = here(uri);
      if (!read) void fetch(uri).then(() => changed(uri));
      return textOf(read);
    },
    why: (uri) => {
      const read = known.get(uri);
      return read && !read.ok && read !== missing() ? read.reason : undefined;
    },
    fetch,
    forget: (uris) => {
      listed = null;
      uris.forEach((uri) => known.delete(uri));
    },
    forgetAll: () => {
      listed = null;
      known.clear();
    },
    drop: (uri) => void known.delete(uri),
    list: async (folders) => {
      const key = folders.join('\n');
      if (listed?.key === key && isWatched()) return listed.uris;
      const uris = await listAll(folders);
      listed = { key, uris };
      return uris;
    },
  };
}

const missing = (): DecodedText => ({ ok: false, reason: say`cannot be read` });

function textOf(read: DecodedText | undefined): string | undefined {
  return read?.ok ? read.text : undefined;
}

/** Whether an address lies in a folder, both as the client writes them. */
function isBelow(folder: string, uri: string): boolean {
  return uri.startsWith(folder.endsWith('/') ? folder : `${folder}/`) && !/(^|\/)\.\.?(\/|$)/.test(uri);
}

async function askText(connection: Connection, uri: string): Promise<DecodedText> {
  try {
    const answer = await connection.sendRequest<ReadFileResult | null>(READ_FILE, { uri });
    if (typeof answer?.text === 'string') return { ok: true, text: answer.text, mark: false };
    return answer?.reason === undefined ? missing() : { ok: false, reason: answer.reason };
  } catch {
    return missing(); // A client that cannot read it leaves the import unresolved, which is reported there.
  }
}

async function askList(connection: Connection): Promise<string[]> {
  try {
    return [...(await connection.sendRequest<ListFilesResult>(LIST_FILES, {})).uris];
  } catch {
    return [];
  }
}
