/** Relative paths between files by their URIs; no file system involved. */
import { URI, Utils } from 'vscode-uri';

/** A URI as the editor's library writes it; one that is not a URI at all (half a surrogate pair, an empty host) stays as it is. */
export function usualForm(uri: string): string {
  try {
    return URI.parse(uri).toString();
  } catch {
    return uri;
  }
}

/** Paths of `uris` as an import in `from` would write them, other schemes and the file itself left out. */
export function relativePaths(from: string, uris: readonly string[]): string[] {
  const base = URI.parse(from);
  const folder = Utils.dirname(base);
  return uris
    .map((uri) => URI.parse(uri))
    .filter((u) => u.scheme === base.scheme && u.authority === base.authority && u.path !== base.path)
    .filter((u) => driveOf(u.path) === driveOf(base.path))
    .map((u) => relative(folder.path, u.path))
    .sort();
}

/** The drive of a Windows path, empty elsewhere: no relative path leads to another drive. */
function driveOf(path: string): string {
  return /^\/([A-Za-z]):/.exec(path)?.[1]!.toLowerCase() ?? '';
}

function relative(from: string, to: string): string {
  const a = from.split('/').filter((s) => s !== '');
  const b = to.split('/').filter((s) => s !== '');
  let same = 0;
  while (same < a.length && same < b.length - 1 && a[same] === b[same]) same++;
  return [...a.slice(same).map(() => '..'), ...b.slice(same)].join('/');
}
