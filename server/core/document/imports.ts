/** The trees of imported files, parsed once per text and kept from version to version of the importing document. */
import { parse } from '../../../grammar/src/api';
import type { Tree } from '../../../grammar/src/ast';
import type { ReadTree } from '../model/resolution';
import type { ReadText } from './document';

interface ParsedFile {
  readonly tree: Tree;
  readonly text: string;
}

export interface Imports {
  readonly readTree: ReadTree;
  /** The texts of these files, one after the other, for comparing versions. */
  texts(uris: readonly string[]): string;
  /** Files asked for, found or not. */
  asked(): ReadonlySet<string>;
  known(uri: string, text: string): ParsedFile | undefined;
}

/** Reads and parses imported files; a file whose text is the same as for `before` is not parsed again. */
export function createImports(
  readText: ReadText,
  before?: Imports,
  treeOf: (uri: string, text: string) => Tree = (_, text) => parse(text).tree,
): Imports {
  const asked = new Set<string>();
  const files = new Map<string, ParsedFile | null>();
  const load = (uri: string): ParsedFile | null => {
    const text = readText(uri);
    if (text === undefined) return null;
    return known(uri, text) ?? { tree: treeOf(uri, text), text };
  };
  // Only the version before is asked, and it forgets its own: otherwise every version ever made would stay reachable.
  let former = before;
  const known = (uri: string, text: string): ParsedFile | undefined => {
    const file = files.get(uri) ?? former?.known(uri, text);
    return file?.text === text ? file : undefined;
  };
  const readTree: ReadTree = (uri) => {
    asked.add(uri);
    const seen = files.get(uri);
    if (seen !== undefined) return seen;
    const file = load(uri);
    files.set(uri, file);
    return file;
  };
  return {
    readTree,
    texts: (uris) => {
      former = undefined;
      return uris
        .slice(1)
        .map((uri) => `${uri}\n${readTree(uri)?.text ?? ''}`)
        .join('\n');
    },
    asked: () => asked,
    known: (uri, text) => known(uri, text),
  };
}
