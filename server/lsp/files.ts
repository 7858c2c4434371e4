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

/** @param askClient whether the client answers the file requests @param changed called with files whose text arrived late */
export function createFiles(
  host: Host,
  connection: Connection,
  askClient: () => boolean,
  changed: (uri: string) => void,
): Files {
  const known = new Map<string, string | undefined>();
  const waiting = new Map<string, Promise<string | undefined>>();

  const ask = (uri: string): Promise<string | undefined> => {
    const pending = waiting.get(uri) ?? askText(connection, uri).finally(() => waiting.delete(uri));
    waiting.set(uri, pending);
    return pending;
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
    forget: (uris) => uris.forEach((uri) => known.delete(uri)),
    list: async (folders) => {
      const { listFiles } = host;
      if (listFiles) return [...new Set(folders.flatMap((folder) => listFiles(folder)))];
      return askClient() ? askList(connection) : [];
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
