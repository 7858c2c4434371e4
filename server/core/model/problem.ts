/** Problems with their places and repairs: the one shape that every phase reports in. */

/** A place in a file: half-open range of UTF-16 offsets. */
export interface Source {
  readonly uri: string;
  readonly start: number;
  readonly end: number;
}

export type Severity = 'error' | 'warning' | 'information' | 'hint';

export interface TextEdit {
  readonly at: Source;
  readonly text: string;
}

/** A repair as data: the editor turns it into a quick fix, the command line only names it. */
export interface Fix {
  readonly title: string;
  readonly edits: readonly TextEdit[];
  /** The one to take when several are offered, and for `source.fixAll`. */
  readonly preferred?: boolean;
  /** It brings another finding, which its title names: never offered first. */
  readonly costs?: boolean;
}

/** Why no repair is offered where some were looked for: the end of a sentence that begins "no quick fix because". */
export interface NoFix {
  readonly because: string;
}

/** What looking for repairs gives: those found, and why others were not. */
export type Repair = Fix | NoFix;

export interface RelatedPlace {
  readonly at: Source;
  readonly message: string;
  /** Code of the finding there that may explain this one. */
  readonly cause?: string;
}

export interface Problem {
  /** Stable code `group/name`; see REFERENCE.md. */
  readonly code: string;
  readonly severity: Severity;
  /** One sentence, with the numbers. */
  readonly message: string;
  readonly at: Source;
  readonly related?: readonly RelatedPlace[];
  readonly fixes?: readonly Fix[];
  /** Where `fixes` is empty although repairs were looked for: see `NoFix`. */
  readonly noFix?: string;
  /** Fade the place out (unused names). */
  readonly unnecessary?: boolean;
}
