/**
 * Findings that a comment allows: `# allow timer/thin-margin: measured on the bench` at the end of a line or alone above it, and
 * `# allow-file CODE: why` for the whole file. Errors cannot be allowed, and a comment that allows nothing is reported.
 */
import type { Token } from '../../../grammar/src/ast';
import { nearMatch } from '../../../grammar/src/near-match';
import type { Problem, Source } from '../model/problem';
import type { Rig } from '../model/rig';
import { ALL_CODES } from './codes';
import { say } from '../words/say';

/** One code of one comment. */
interface Allowance {
  readonly code: string;
  readonly at: Source;
  /** What the comment says behind the codes; may be empty. */
  readonly why: string;
  /** Offsets of the line that it is for; null: the whole file. */
  readonly line: { readonly start: number; readonly end: number } | null;
}

/** A finding that a comment allows, and why. */
export interface AllowedProblem extends Problem {
  /** What the comment gives as the reason; empty where it gives none. */
  readonly why: string;
}

export interface WithAllowances {
  /** What is left to be shown, with what is wrong with the comments. */
  readonly problems: readonly Problem[];
  readonly allowed: readonly AllowedProblem[];
}

const COMMENT = /^#+\s*allow(-file)?\s+([a-z]+\/[\w-]+(?:\s*,\s*[a-z]+\/[\w-]+)*)/;
const CODES: readonly string[] = ALL_CODES.map((c) => c.code);

/** The codes that may stand in such a comment. */
export const ALLOWABLE: readonly string[] = ALL_CODES.filter((c) => c.severity !== 'error').map((c) => c.code);

/** What only a proof may find, so that without one nobody knows whether its comment allows nothing. */
const OF_PROOFS: ReadonlySet<string> = new Set(['require/undecided']);

/** A file as comments are read in it. */
interface Commented {
  readonly uri: string;
  readonly text: string;
  /** Read only where the text has such a comment: making them is as much work as reading the text. */
  readonly tokens: readonly Token[];
}

/** Takes out the problems that comments of the file allow, of findings that others made (proofs); the comments are judged elsewhere. */
export function withoutAllowed(file: Commented, problems: readonly Problem[]): WithAllowances {
  const { left, allowed } = parted(file.uri, allowancesOf(file), problems, new Set());
  return { problems: left, allowed };
}

/** The findings that are about one of the rigs of a file, or about none in particular. */
export const ofRig = <T extends Problem>(findings: readonly T[], rig: Rig, rigs: readonly Rig[]): T[] =>
  findings.filter(({ at }) => !rigs.some((other) => other !== rig && isWithin(at, other.whole)));

const isWithin = (at: Source, whole: Source): boolean =>
  at.uri === whole.uri && at.start >= whole.start && at.end <= whole.end;

/**
 * Takes out the problems of a file that its comments allow.
 * @param whole all phases are done: only then is it known that a comment allows nothing
 */
export function withAllowances(file: Commented, problems: readonly Problem[], whole: boolean): WithAllowances {
  const allowances = allowancesOf(file);
  if (allowances.length === 0) return { problems, allowed: [] };
  const used = new Set<Allowance>();
  const { left, allowed } = parted(file.uri, allowances, problems, used);
  // With an error in the text, or a value that is not its own, other findings than usual are missing.
  const sure = whole && !problems.some((p) => p.severity === 'error' || p.code === 'value/overridden');
  const faults = allowances.flatMap((a) => faultOf(a, problems, !used.has(a) && sure));
  return { problems: [...left, ...faults], allowed };
}

/** `used`: takes the comments that allowed something. */
function parted(
  uri: string,
  allowances: readonly Allowance[],
  problems: readonly Problem[],
  used: Set<Allowance>,
): { readonly left: Problem[]; readonly allowed: AllowedProblem[] } {
  const left: Problem[] = [];
  const allowed: AllowedProblem[] = [];
  for (const problem of problems) {
    const may = problem.severity !== 'error' && problem.at.uri === uri;
    const by = may ? allowances.filter((a) => a.code === problem.code && covers(a, problem.at.start)) : [];
    by.forEach((a) => used.add(a));
    if (by[0] === undefined) left.push(problem);
    else allowed.push({ ...problem, why: by.find((a) => a.why !== '')?.why ?? '' });
  }
  return { left, allowed };
}

const covers = ({ line }: Pick<Allowance, 'line'>, offset: number): boolean =>
  line === null || (offset >= line.start && offset <= line.end);

function allowancesOf(file: Commented): Allowance[] {
  const { uri, text } = file;
  if (!/#\s*allow/.test(text)) return [];
  return file.tokens.flatMap((token) => {
    const match = token.kind === 'comment' ? COMMENT.exec(token.text) : null;
    if (!match) return [];
    const [, file, list] = match;
    const line = file === undefined ? lineFor(text, token.span.start) : null;
    const why = token.text
      .slice(match[0].length)
      .replace(/^[\s:,;.-]+/, '')
      .trim();
    const from = token.span.start + match[0].length - list!.length;
    return [...list!.matchAll(/[\w/-]+/g)].map(({ 0: code, index }) => ({
      code,
      at: { uri, start: from + index, end: from + index + code.length },
      why,
      line,
    }));
  });
}

/** The line of a comment; where it stands alone, the next one that is more than a comment. */
function lineFor(text: string, offset: number): { start: number; end: number } {
  let start = Math.max(text.lastIndexOf('\n', offset - 1), text.lastIndexOf('\r', offset - 1)) + 1;
  for (;;) {
    const end = /\r|\n|$/.exec(text.slice(start))!.index + start;
    if (end === text.length || /^\s*[^\s#]/.test(text.slice(start, end))) return { start, end };
    start = end + 1;
  }
}

function faultOf({ code, at, line }: Allowance, problems: readonly Problem[], unused: boolean): Problem[] {
  const base = { code: 'value/no-effect', severity: 'warning' as const, at };
  if (!CODES.includes(code)) {
    const near = nearMatch(code, CODES);
    const fixes = near ? [{ title: say`Change to ${near}`, edits: [{ at, text: near }], preferred: true }] : [];
    return [{ ...base, message: say`There is no finding ${code}.${near ? say` Did you mean ${near}?` : ''}`, fixes }];
  }
  const error = problems.some((p) => p.code === code && p.severity === 'error' && covers({ line }, p.at.start));
  if (error) return [{ ...base, message: say`${code} is an error here, and an error cannot be allowed.` }];
  if (!unused || OF_PROOFS.has(code)) return [];
  const where = line === null ? say`in this file` : say`at this line`;
  return [{ ...base, message: say`This comment allows nothing: there is no finding ${code} ${where}.` }];
}
