/** Files and their imports: each file is read once; its constants, media and parts are known to those who import it. */
import type { ImportStatement, Statement, Tree } from '../../../grammar/src/ast';
import { type At, type Context, createScope, place, report, type Scope } from './context';
import { declareFile } from './declarations';
import type { Source } from './problem';
import type { ReadTree } from './resolution';
import { say } from '../words/say';

/** A file while resolving; `state` finds circles. */
export interface LoadedFile {
  readonly uri: string;
  readonly scope: Scope;
  readonly statements: readonly Statement[];
  state: 'open' | 'done';
}

export interface FileSet {
  readonly ctx: Context;
  readonly readTree: ReadTree;
  readonly whyUnread: (uri: string) => string | undefined;
  /** In order of reading; the file itself first. */
  readonly files: Map<string, LoadedFile>;
  readonly imports: { readonly at: Source; readonly target: string | null }[];
}

const SCHEME = /^[A-Za-z][A-Za-z0-9+.-]+:/;
const MOST_FILES = 200;

/** Takes `.` and `..` out of a path (RFC 3986, 5.2.4). Above its root (`/`, or the drive) there is nothing, so `..` stays there; of a path without one it is kept. */
function normalised(path: string): string {
  const root = /^\/*(?:[A-Za-z](?::|%3A)(?=\/|$))?/i.exec(path)![0];
  const kept: string[] = [];
  for (const piece of path.slice(root.length).split('/')) {
    // An empty piece could end up in front, where `//` names another machine.
    if (piece === '.' || piece === '') continue;
    const last = kept[kept.length - 1];
    if (piece !== '..') kept.push(piece);
    else if (last !== undefined && last !== '..') kept.pop();
    else if (root === '') kept.push(piece);
  }
  const start = root.replace(/^\/+/, '/');
  return start + (start === '' || start.endsWith('/') || kept.length === 0 ? '' : '/') + kept.join('/');
}

/** Half of a surrogate pair becomes the replacement character: no URI can hold it. */
function wellFormed(text: string): string {
  return text.replace(/[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/g, '\uFFFD');
}

/** The URI (or path) that an import names, relative to the file it stands in. */
export function importTarget(uri: string, path: string): string {
  const written = path.replace(/\\/g, '/');
  if (SCHEME.test(written)) return wellFormed(written);
  const scheme = SCHEME.exec(uri)?.[0] ?? '';
  const encoded = scheme === '' ? written : encodeURI(wellFormed(written)).replace(/[?#]/g, encodeURIComponent);
  const authority = /^[^:]*:\/\/[^/]*/.exec(uri)?.[0] ?? scheme;
  const base = uri.slice(authority.length);
  const drive = /^[A-Za-z]:\//.test(written) && scheme === 'file:';
  if (drive) return `file:///${normalised(encoded)}`;
  const target = encoded.startsWith('/') ? encoded : base.slice(0, base.lastIndexOf('/') + 1) + encoded;
  return authority + normalised(target);
}

const fileName = (uri: string): string => decode(uri.slice(uri.lastIndexOf('/') + 1));

function decode(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** Loads a file with all it imports. `trail` holds the files that are being loaded, outermost first. */
export function loadFile(
  set: FileSet,
  file: { readonly uri: string; readonly tree: Tree; readonly text: string },
  trail: readonly string[] = [],
): LoadedFile {
  const scope = createScope(null, file, { prefix: '', container: -1, repeated: false });
  const loaded: LoadedFile = { uri: file.uri, scope, statements: file.tree.statements, state: 'open' };
  set.files.set(file.uri, loaded);
  declareFile({ ctx: set.ctx, scope }, file.tree.statements);
  const here = [...trail, file.uri];
  for (const statement of file.tree.statements) {
    if (statement.kind === 'import') loadImport(set, scope, statement, here);
  }
  loaded.state = 'done';
  return loaded;
}

function loadImport(set: FileSet, scope: Scope, statement: ImportStatement, trail: readonly string[]): void {
  if (statement.path === null) return;
  const at = place(scope, statement.path.span);
  if (statement.path.value.trim() === '') {
    report(set.ctx, 'import/missing', say`The import names no file.`, at);
    return;
  }
  const foreign = foreignHost(scope.uri, statement.path.value);
  if (foreign !== null) {
    if (trail.length === 1) set.imports.push({ at, target: null });
    const message = say`Imports are not read from other machines (${foreign}); copy the file beside this one.`;
    report(set.ctx, 'import/missing', message, at);
    return;
  }
  const uri = importTarget(scope.uri, statement.path.value);
  const known = set.files.get(uri);
  const isMain = trail.length === 1;
  if (known !== undefined) {
    if (isMain) set.imports.push({ at, target: uri });
    if (known.state === 'open') reportCircle(set.ctx, at, [...trail.slice(trail.indexOf(uri)), uri]);
    else addImport({ ctx: set.ctx, scope }, known.scope, at);
    return;
  }
  const read = set.files.size < MOST_FILES ? set.readTree(uri) : null;
  if (isMain) set.imports.push({ at, target: read === null ? null : uri });
  if (read === null) {
    report(set.ctx, 'import/missing', say`The file ${statement.path.value} ${unreadReason(set, uri)}.`, at);
    return;
  }
  addImport({ ctx: set.ctx, scope }, loadFile(set, { uri, ...read }, trail).scope, at);
}

function unreadReason(set: FileSet, uri: string): string {
  if (set.files.size >= MOST_FILES) return say`is not read: more than ${MOST_FILES} files are imported`;
  return set.whyUnread(uri) ?? say`cannot be read`;
}

/**
 * The machine that an import names; null where it stays on this one. Reading from a named machine would make this one sign in there,
 * so it is never tried: `//host/share`, `\\\\host\\share`, `file://host/…`. A relative path from a file on a share is not foreign.
 */
export function foreignHost(uri: string, path: string): string | null {
  const written = path.replace(/\\/g, '/');
  const share = /^\/\/+([^/]*)/.exec(written);
  if (share) return share[1] === '' ? '//' : share[1]!;
  const file = /^file:(\/*)([^/]*)/i.exec(written);
  if (!file) return null;
  const slashes = file[1]!.length;
  if (slashes === 2 && file[2] !== '' && file[2]!.toLowerCase() !== 'localhost') return file[2]!;
  return slashes > 3 || /^file:\/\/\/?(%5c|%2f)/i.test(written) ? written : null;
}

/** Makes the names of another file known; the first file that gives a name counts. */
function addImport(here: At, other: Scope, at: Source): void {
  const { ctx, scope } = here;
  if (scope.imports.includes(other)) return;
  const twice = [...other.names.keys()].filter((name) => scope.imports.some((file) => file.names.has(name)));
  scope.imports.push(other);
  if (twice.length === 0) return;
  const message = say`${twice.slice(0, 3).join(', ')} from ${fileName(other.uri)} cannot be distinguished from what is imported above.`;
  report(ctx, 'import/ambiguous', message, at);
}

function reportCircle(ctx: Context, at: Source, circle: readonly string[]): void {
  const names = circle.map(fileName);
  const message =
    names.length === 2 ? say`${names[0]!} imports itself.` : say`These files import each other: ${names.join(' → ')}.`;
  report(ctx, 'import/circle', message, at);
}
