/** What resolving one file gives: rigs, problems, and who declares and who uses each name (for the editor's features). */
import type { Expression, Tree } from '../../../grammar/src/ast';
import type { Problem, Source } from './problem';
import type { ItemKind, Rig } from './rig';

/** A declared name. `id` is unique within one resolution. */
export interface Declaration {
  readonly id: number;
  readonly kind: ItemKind;
  /** As declared (without the prefix of a place). */
  readonly name: string;
  readonly at: Source;
  readonly whole: Source;
  readonly doc: string;
  /** Id of the rig, part or file scope it stands in; -1 for file level. */
  readonly container: number;
  /** Short text for hovers and completion: `door`, `let settle = 1.8 s`, … */
  readonly detail: string;
}

export interface Use {
  readonly declaration: number;
  readonly at: Source;
  /** `write`: drives or operates it (drive, scenario, sequence); `read`: everything else. */
  readonly role: 'read' | 'write';
}

export interface Resolution {
  readonly uri: string;
  readonly rigs: readonly Rig[];
  /** Also those in imported files, as far as they matter here, at their own places. */
  readonly problems: readonly Problem[];
  readonly declarations: readonly Declaration[];
  readonly uses: readonly Use[];
  /** URIs of all files read through imports, this one first. */
  readonly files: readonly string[];
  /** Import statements with the file they name (null where it could not be read). */
  readonly imports: readonly { readonly at: Source; readonly target: string | null }[];
}

/** Gives the tree of another file for `import`, or null where there is none; the caller caches. */
export type ReadTree = (uri: string) => { readonly tree: Tree; readonly text: string } | null;

export interface ResolveOptions {
  /** Why a file could not be read: a clause to stand after its name, such as `is a folder`; undefined where it is just not there. */
  readonly whyUnread?: (uri: string) => string | undefined;
  /** Overrides of constants, `--let NAME=VALUE`: name → expression text already parsed by the caller. */
  readonly overrides?: ReadonlyMap<string, Expression>;
}
