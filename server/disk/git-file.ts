/** Reading a file as it was at a revision of the git repository that it lies in. */
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { dirname, relative, sep } from 'node:path';
import { decodeText, MOST_BYTES, sizeTrouble, type DecodedText } from '../protocol/text-bytes';

/**
 * The text of a file at a revision (whatever `git rev-parse` takes for a commit), or why there is none: a clause to stand after its name.
 * The file, and the folders that it lay in, need not be there now.
 */
export function readAtRevision(path: string, revision: string): DecodedText {
  const folder = existingFolder(path);
  const commit = git(folder, ['rev-parse', '--verify', '--quiet', `${revision}^{commit}`]);
  if (commit === null) return refused('cannot be read from git, which is not installed here');
  // A leading dash would be read as an option.
  if (commit.status !== 0 || revision.startsWith('-')) return refused(unknownRevision(folder, revision));
  const rest = relative(folder, path).split(sep).join('/');
  const listed = git(folder, ['ls-tree', '-z', '--long', commit.text.trim(), '--', `:(literal)${rest}`]);
  // One line for one path: mode, kind, name of the object, size, path.
  const [mode, kind, object, size] = (listed?.text ?? '').split(/\s+/, 4);
  if (!object) return refused(`is not there at ${revision}`);
  if (kind === 'tree') return refused(`is a folder at ${revision}`);
  if (kind !== 'blob' || mode === '120000') return refused(`is not a regular file at ${revision}`);
  const large = sizeTrouble(Number(size));
  if (large !== null) return refused(`${large} at ${revision}`);
  const blob = git(folder, ['cat-file', 'blob', object]);
  return blob?.status === 0 ? decodeText(blob.bytes) : refused(`cannot be read at ${revision}`);
}

const refused = (reason: string): DecodedText => ({ ok: false, reason });

/** Why git did not find the commit. */
function unknownRevision(folder: string, revision: string): string {
  const inside = git(folder, ['rev-parse', '--show-toplevel']);
  if (inside?.status === 0) return `has no version ${revision}: git knows no commit of that name`;
  if (/not a git repository/.test(inside?.complaint ?? '')) return 'does not lie in a git repository';
  // Such as a repository of another owner, which git refuses to read.
  return `cannot be read from git: ${(inside?.complaint ?? '').split('\n')[0]}`;
}

/** The folder of a file, or the nearest one above it that is there. */
function existingFolder(path: string): string {
  let folder = dirname(path);
  while (!existsSync(folder) && dirname(folder) !== folder) folder = dirname(folder);
  return folder;
}

interface GitAnswer {
  readonly status: number | null;
  readonly bytes: Uint8Array;
  readonly text: string;
  readonly complaint: string;
}

/** Runs git in a folder; null where there is no git. */
function git(cwd: string, words: readonly string[]): GitAnswer | null {
  const { error, status, stdout, stderr } = spawnSync('git', words, {
    cwd,
    // Its complaints are recognised by their English words.
    env: { ...process.env, LC_ALL: 'C' },
    maxBuffer: 2 * MOST_BYTES,
  });
  if (error && (error as NodeJS.ErrnoException).code === 'ENOENT') return null;
  return { status, bytes: stdout, text: stdout.toString('utf8'), complaint: stderr.toString('utf8').trim() };
}
