/** What a check is: one file, one code, a pure function from the facts of one rig to problems with their fixes. */
import type { Tree } from '../../../grammar/src/ast';
import type { Problem, Severity, Source, Repair } from '../model/problem';
import type { Resolution } from '../model/resolution';
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import type { Work } from '../work/work';
import type { About } from './about';

/** A code of the product, as listed by `caisson explain` and in REFERENCE.md. */
export interface CodeInfo {
  /** `group/name`. */
  readonly code: string;
  /** Short name for lists. */
  readonly title: string;
  /** The usual severity; a check may say where it differs. */
  readonly severity: Severity;
  /** Definition: when it is reported, when not, what to do. Plain sentences, Markdown code marks allowed. */
  readonly explanation: string;
}

/** What every check reads. */
export interface CheckContext {
  readonly rig: Rig;
  readonly facts: RigFacts;
  readonly resolution: Resolution;
  /** Text of a file of the resolution (`Resolution.files`); undefined where it is not known: fixes that need it are left out. */
  readonly text: (uri: string) => string | undefined;
  /** The tree of a file of the resolution: repairs change statements by it. */
  readonly tree: (uri: string) => Tree | undefined;
  /** Absent while a changed rig is looked at: then no fixes are computed. */
  readonly recheck?: Recheck;
  /** How many changed rigs may still be computed for repairs; a large rig gets few, so that marking stays quick. */
  readonly tries?: { left: number };
}

/** Warnings and errors of a changed rig, each as its code and, after a blank, its subject. Given by `runChecks`. */
export type Recheck = (facts: RigFacts) => Work<readonly string[]>;

/** A problem as a check reports it. */
export interface Found extends Problem {
  /** Its subjects; absent: the whole rig. Only `withCauses` reads it. */
  readonly about?: About;
  /** Its fixes, where they have to be tried first: in steps, after all problems of the check are known. */
  readonly repair?: () => Work<readonly Repair[]>;
}

export interface Check extends CodeInfo {
  /** It asks what the text states as meant, so that it has nothing to say where a statement of that could not be read. */
  readonly asksIntent?: true;
  /** Computes in steps what `run` reads that takes long, so that `run` itself does not. */
  readonly prepare?: (context: CheckContext) => Work<void>;
  readonly run: (context: CheckContext) => Found[];
}

/** A problem that a check reports: with its code, its subjects, and its severity unless `rest` states another. */
export function found(
  { code, severity }: CodeInfo,
  at: Source,
  message: string,
  about: About,
  rest: Partial<Omit<Found, 'code' | 'at' | 'message' | 'about'>> = {},
): Found {
  return { code, severity, message, at, about, ...rest };
}
