/**
 * One version of one `.rig` text and everything computed from it, in named phases: parsed → resolved → analysed → checked.
 * Each phase is computed when first asked for and kept. Facts and checks are computed rig by rig and taken over from the
 * version before for rigs whose own text and surroundings did not change, so an edit in a long file costs what its rig costs.
 */
import { parseSteps } from '../../../grammar/src/api';
import type { Expression, ParseResult, Tree } from '../../../grammar/src/ast';
import type { Problem } from '../model/problem';
import { resolveFile } from '../model/resolve';
import type { Resolution } from '../model/resolution';
import { analysisOf } from '../run/analyse';
import { type Kept, kept, type Work } from '../work/work';
import type { RigFacts } from '../run/facts';
import type { CheckStep } from '../checks/registry';
import type { CheckContext } from '../checks/check';
import type { CheckedRig, JudgedRequirement } from './check-rig';
import { checkRig, checkWiring, judged } from './check-rig';
import type { Imports } from './imports';
import { createImports } from './imports';
import { parseOverrides } from './overrides';
import { withAllowances, type AllowedProblem, type WithAllowances } from './allowances';
import { collectProblems, misreadLines, syntaxProblems } from './problems';
import type { Layout, RigEntry } from './reuse';
import { layoutOf, moveEntry, surroundings } from './reuse';

export interface DocumentInput {
  readonly uri: string;
  readonly version: number;
  readonly text: string;
}

export interface DocumentSettings {
  /** Constants given another value, name → expression text (`--let NAME=VALUE`). */
  readonly constants?: Readonly<Record<string, string>>;
  /** The same, already parsed; wins over `constants`. */
  readonly overrides?: ReadonlyMap<string, Expression>;
  /** Why a file could not be read, see `ResolveOptions`. */
  readonly whyUnread?: (uri: string) => string | undefined;
  /** The tree of an imported file, where the caller keeps trees for all its documents. */
  readonly treeOf?: (uri: string, text: string) => Tree;
  /** The most problems `checked` gives; 200 where absent. */
  readonly limit?: number;
}

/** Text of another file by URI, or undefined where there is none (or not yet). */
export type ReadText = (uri: string) => string | undefined;

/** What the last phase gives. */
export interface Checked {
  /** Problems of all phases in this file, sorted by place, at most `limit`. */
  readonly problems: readonly Problem[];
  /** Findings that a comment allows (`allowances.ts`); they are not among the problems. */
  readonly allowed: readonly AllowedProblem[];
  /** Checks and verdicts of each rig, in the order of `Resolution.rigs`. */
  readonly rigs: readonly CheckedRig[];
}

export interface RigDocument extends DocumentInput {
  readonly readText: ReadText;
  parsed(): ParseResult;
  /** Computes the first two phases in steps. */
  readWork(): Work<void>;
  resolved(): Resolution;
  /** Facts of each rig, in the order of `Resolution.rigs`. */
  analysed(): readonly RigFacts[];
  /** Facts of one rig (index into `Resolution.rigs`) without computing the others. */
  factsOf(rig: number): RigFacts;
  /** The same in steps. */
  factsOfWork(rig: number): Work<RigFacts>;
  checked(): Checked;
  /** Problems of the text alone (form, names, units, values, imports): nothing is simulated for them. */
  textProblems(): readonly Problem[];
  /** The same with errors of the wiring: what leaves a rig without a control. No other check is run. */
  controlProblems(): readonly Problem[];
  /** Problems of all phases: `checked().problems`. */
  problems(): readonly Problem[];
  /** Every requirement of the file with its verdict, in order. */
  verdicts(): readonly JudgedRequirement[];
  /**
   * Computes the last phase in steps of one check; a caller that stops half way loses nothing. Once on the way it gives the problems
   * of form, names, units and timing, while those of flow are still to come.
   */
  work(): Generator<readonly Problem[] | undefined, Checked, void>;
  /** Computes the facts of every rig in steps. */
  factsWork(): Work<readonly RigFacts[]>;
  /** Works the last phase out, asking between rigs whether to give up; null where it did. */
  finish(isCancelled: () => boolean): Checked | null;
  /** Files whose text this document has asked for, found or not. */
  dependencies(): ReadonlySet<string>;
}

/** What a document hands to its next version. */
interface Carried {
  readonly surroundings: string;
  readonly entries: ReadonlyMap<string, RigEntry>;
  readonly imports: Imports;
  readonly parsed: ParseResult;
}

const carriedBy = new WeakMap<RigDocument, () => Carried | undefined>();

/** Builds the document value. `previous` is an earlier version of the same file whose results may be taken over. */
export function createDocument(
  input: DocumentInput,
  readText: ReadText,
  settings: DocumentSettings = {},
  previous?: RigDocument,
): RigDocument {
  const before = previous ? carriedBy.get(previous)?.() : undefined;
  const source = createSource(
    input,
    createImports(readText, before?.imports, settings.treeOf),
    settings,
    before?.parsed,
  );
  const { parsed, resolved, imports, around, readWork } = source;
  const old = (): ReadonlyMap<string, RigEntry> =>
    before && before.surroundings === around() ? before.entries : NOTHING;
  const rigs = createRigStore({ input, parsed, resolved, old, files: source.files });
  const collect = collector(input, source, settings.limit ?? 200);
  const work = function* (): ReturnType<RigDocument['work']> {
    yield* readWork();
    return yield* checkAll(resolved().rigs.length, rigs, collect);
  };

  let finished: Checked | null = null;
  const finish = (isCancelled: () => boolean): Checked | null => (finished ??= drain(work(), isCancelled));
  const checked = (): Checked => finish(() => false)!;
  const document: RigDocument = {
    ...input,
    readText,
    parsed,
    readWork,
    resolved,
    analysed: once(() => resolved().rigs.map((_, i) => rigs.facts(i))),
    factsOf: rigs.facts,
    factsOfWork: rigs.factsWork,
    checked,
    textProblems: () => collect([]).problems,
    controlProblems: () =>
      collect(resolved().rigs.flatMap((_, i) => checkWiring(rigs.facts(i), resolved(), source.files))).problems,
    problems: () => checked().problems,
    *factsWork() {
      yield* readWork();
      for (const [i] of resolved().rigs.entries()) yield* rigs.factsWork(i);
      return document.analysed();
    },
    verdicts: () => judged(resolved().rigs, checked().rigs),
    work,
    finish,
    dependencies: imports.asked,
  };
  // A version that nobody asked anything hands on what it was given.
  const carry = (): Carried => ({
    surroundings: around(),
    entries: rigs.carried(),
    imports,
    parsed: parsed(),
  });
  carriedBy.set(document, () => (resolved.done() ? carry() : before));
  return document;
}

const NOTHING: ReadonlyMap<string, RigEntry> = new Map();

type Source = ReturnType<typeof createSource>;

/** The first two phases: the text and what it names, with the constants given from outside. */
function createSource(input: DocumentInput, imports: Imports, settings: DocumentSettings, before?: ParseResult) {
  // Let go once it has been used: otherwise every version ever made would stay reachable.
  let former = before;
  const tree = kept(function* () {
    const read = yield* parseSteps(input.text, former);
    former = undefined;
    return read;
  });
  const parsed = (): ParseResult => tree.value();
  const given = once(() => parseOverrides(input.uri, settings.constants ?? {}));
  const overrides = once(() => new Map([...given().expressions, ...(settings.overrides ?? [])]));
  const resolved = once(() => {
    const file = { uri: input.uri, tree: parsed().tree, text: input.text };
    return resolveFile(file, imports.readTree, { overrides: overrides(), whyUnread: settings.whyUnread });
  });
  const files: RigStoreNeeds['files'] = {
    text: (uri) => (uri === input.uri ? input.text : imports.readTree(uri)?.text),
    tree: (uri) => (uri === input.uri ? parsed().tree : imports.readTree(uri)?.tree),
  };
  function* readWork(): Work<void> {
    if (resolved.done()) return;
    yield* tree.work();
    yield;
    resolved();
    yield;
  }
  return {
    imports,
    parsed,
    readWork,
    resolved,
    files,
    givenProblems: (): readonly Problem[] => given().problems,
    /** Everything outside the rigs that their results depend on. */
    around: once(() => surroundings(input.text, parsed().tree, imports.texts(resolved().files), [...overrides()])),
  };
}

type Collect = (ofRigs: readonly Problem[], whole?: boolean) => WithAllowances;

/** Puts the problems of rigs together with those of the text, without those that follow from a line that was misread. */
function collector(input: DocumentInput, { parsed, resolved, givenProblems }: Source, limit: number): Collect {
  return (ofRigs, whole = false) => {
    const follows = misreadLines(input.uri, input.text, parsed().problems);
    const found = [givenProblems(), resolved().problems, ofRigs].flat().filter((p) => !follows(p));
    const all = [...syntaxProblems(input.uri, parsed().problems), ...found];
    const file = {
      uri: input.uri,
      text: input.text,
      get tokens() {
        return parsed().tokens;
      },
    };
    const { problems, allowed } = withAllowances(file, all, whole);
    return { problems: collectProblems(input, problems, resolved().imports, limit), allowed };
  };
}

/** The last phase in steps: see `RigDocument.work`. */
function* checkAll(
  count: number,
  rigs: ReturnType<typeof createRigStore>,
  collect: Collect,
): Generator<readonly Problem[] | undefined, Checked, void> {
  const early: Problem[] = [];
  for (let i = 0; i < count; i++) {
    early.push(...(yield* rigs.checkEarly(i)));
    yield;
  }
  yield collect(early).problems;
  const checked: CheckedRig[] = [];
  for (let i = 0; i < count; i++) checked.push(yield* rigs.check(i));
  const found = checked.flatMap((c) => c.problems);
  return { ...collect(found, true), rigs: checked };
}

interface RigStoreNeeds {
  readonly input: DocumentInput;
  readonly parsed: () => ParseResult;
  readonly resolved: () => Resolution;
  /** What the version before has computed and still holds. */
  readonly old: () => ReadonlyMap<string, RigEntry>;
  readonly files: Pick<CheckContext, 'text' | 'tree'>;
}

/** Facts and checks of the rigs of one version, each computed once or taken over from the version before. */
function createRigStore({ input, parsed, resolved, old, files }: RigStoreNeeds) {
  const layout: () => Layout = once(() => layoutOf(input, parsed().tree, resolved().rigs));
  const entries = new Map<string, RigEntry>();

  const underWay = new Map<string, Kept<RigEntry>>();

  /** The entry of a rig, computed in steps by whoever asks first. */
  const entryWork = (index: number): Kept<RigEntry> => {
    const key = layout().keys[index]!;
    const work = underWay.get(key) ?? kept(() => makeEntry(key, index));
    underWay.set(key, work);
    return work;
  };
  function* makeEntry(key: string, index: number): Work<RigEntry> {
    const rig = resolved().rigs[index]!;
    const former = old().get(key);
    const moved = former ? moveEntry(former, key, rig, layout(), input.uri) : null;
    const entry = moved ?? { layout: layout(), facts: yield* analysisOf(rig) };
    entries.set(key, entry);
    return entry;
  }
  const stepsOf = (entry: RigEntry) => (entry.checking ??= checkRig(entry.facts, resolved(), files));
  /** Runs the checks of a rig up to those of flow and gives what they found so far. */
  function* checkEarly(index: number): Generator<undefined, readonly Problem[], void> {
    const entry = yield* entryWork(index).work();
    while (!entry.checked && !entry.early) {
      take(entry, stepsOf(entry).next());
      yield;
    }
    return entry.checked?.problems ?? entry.early!;
  }
  function* check(index: number): Generator<undefined, CheckedRig, void> {
    const entry = yield* entryWork(index).work();
    while (!entry.checked) {
      take(entry, stepsOf(entry).next());
      yield;
    }
    return entry.checked;
  }
  /** Everything of this version; what it has not computed yet is passed on from the version before. */
  const carried = (): ReadonlyMap<string, RigEntry> => {
    const wanted = new Map<string, RigEntry>();
    for (const key of layout().keys) {
      const entry = entries.get(key) ?? old().get(key);
      if (entry) wanted.set(key, entry);
    }
    return wanted;
  };
  return {
    facts: (index: number) => entryWork(index).value().facts,
    *factsWork(index: number): Work<RigFacts> {
      return (yield* entryWork(index).work()).facts;
    },
    checkEarly,
    check,
    carried,
  };
}

/** Notes one step of checking in the entry. Whoever else asked in between finds what was done, and goes on from there. */
function take(entry: RigEntry, step: IteratorResult<CheckStep, CheckedRig>): void {
  if (step.done) {
    if (step.value) entry.checked = step.value;
    entry.checking = undefined;
  } else if (step.value.stage === 'early') entry.early = step.value.problems;
}

/** Runs `work` at the first call and keeps its value; `done` tells whether that has happened. */
function once<T>(work: () => T): (() => T) & { done(): boolean } {
  let kept: { readonly value: T } | null = null;
  return Object.assign(() => (kept ??= { value: work() }).value, { done: () => kept !== null });
}

function drain(work: Generator<unknown, Checked, void>, isCancelled: () => boolean): Checked | null {
  for (;;) {
    const step = work.next();
    if (step.done) return step.value;
    if (isCancelled()) return null;
  }
}
