/** Errors of the file system in words that stand after the name of a file. */

const REASONS: Readonly<Record<string, string>> = {
  ENOENT: 'there is no such file or folder',
  ENOTDIR: 'a part of its path is not a folder',
  EISDIR: 'it is a folder',
  EACCES: 'permission is denied',
  EPERM: 'permission is denied',
  EROFS: 'the disk is read-only',
  ENOSPC: 'the disk is full',
  EDQUOT: 'the disk quota is used up',
  EFBIG: 'it would be larger than allowed',
  ELOOP: 'its links form a circle',
  ENAMETOOLONG: 'its name is too long',
  EMFILE: 'too many files are open',
  ENFILE: 'too many files are open',
  EBADF: 'it is closed',
  EPIPE: 'the program that reads it has closed it',
  EIO: 'the disk reports an error',
  ERR_INVALID_ARG_VALUE: 'its name is not a file name',
};

/** Why a call of the file system failed, without its path. */
export function fileTrouble(error: unknown): string {
  const code = codeOf(error);
  return REASONS[code] ?? (code === '' ? String(error instanceof Error ? error.message : error) : code);
}

/** The code of a system error, empty where it has none. */
export function codeOf(error: unknown): string {
  const code = (error as { readonly code?: unknown } | null)?.code;
  return typeof code === 'string' ? code : '';
}
