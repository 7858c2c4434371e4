/** Texts of files that are not open: read where the host can, asked from the client where it cannot, kept until they change. */
import type { Connection } from 'vscode-languageserver';
import type { ListFilesResult, ReadFileResult } from '../protocol/messages';
import { LIST_FILES, READ_FILE } from '../protocol/messages';
import type { Host } from './host';

export interface Files {
  /** The text if it is known; otherwise undefined, and `changed` is told once the client has answered. */
  read(uri: string): string | undefined;
  /** Forgets what is known of these files. */
  forget(uris: readonly string[]): void;
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
  /** Called with files whose text arrived late. */
  readonly changed: (uri: string) => void;
}

export function createFiles({ host, connection, askClient, isWatched, changed }: FilesNeeds): Files {
  const known = new Map<string, string | undefined>();
  const waiting = new Map<string, Promise<string | undefined>>();

  const ask = (uri: string): Promise<string | undefined> => {
    const pending = waiting.get(uri) ?? askText(connection, uri).finally(() => waiting.delete(uri));
    waiting.set(uri, pending);
    return pending;
  };
  let listed: { readonly key: string; readonly uris: string[] } | null = null;
  const listAll = async (folders: readonly string[]): Promise<string[]> => {
    const { listFiles } = host;
    if (listFiles) return [...new Set(folders.flatMap((folder) => listFiles(folder)))];
    return askClient() ? askList(connection) : [];
  };
  const fetch = async (uri: string): Promise<string | undefined> => {
    if (known.has(uri)) return known.get(uri);
    const text = host.readFile?.(uri) ?? (askClient() ? await ask(uri) : undefined);
    known.set(uri, text);
    return text;
  };
  const read = (uri: string): string | undefined => {
    if (known.has(uri)) return known.get(uri);
    const text = host.readFile?.(uri);
    if (text !== undefined || !askClient()) {
      known.set(uri, text);
      return text;
    }
    void fetch(uri).then((late) => late !== undefined && changed(uri));
    return undefined;
  };
  return {
    read,
    fetch,
    forget: (uris) => {
      listed = null;
      uris.forEach((uri) => known.delete(uri));
    },
    list: async (folders) => {
      const key = folders.join('\n');
      if (listed?.key === key && isWatched()) return listed.uris;
      const uris = await listAll(folders);
      listed = { key, uris };
      return uris;
    },
  };
}

async function askText(connection: Connection, uri: string): Promise<string | undefined> {
  try {
    const answer = await connection.sendRequest<ReadFileResult | null>(READ_FILE, { uri });
    return answer?.text ?? undefined;
  } catch {
    return undefined; // A client that cannot read it leaves the import unresolved, which is reported there.
  }
}

async function askList(connection: Connection): Promise<string[]> {
  try {
    return [...(await connection.sendRequest<ListFilesResult>(LIST_FILES, {})).uris];
  } catch {
    return [];
  }
}
