/**
 * Taking facts and checks over from one version of a text to the next. A rig's results depend on its own text and on its
 * surroundings (statements outside rigs, imported texts, overrides); where both are the same, only places move.
 */
import type { LetStatement, PartStatement, Span, Statement, Tree } from '../../../grammar/src/ast';
import type { CheckStep } from '../checks/registry';
import type { Problem, Source } from '../model/problem';
import type { Rig } from '../model/rig';
import { withRig } from '../run/analyse';
import type { RigFacts } from '../run/facts';
import type { CheckedRig } from './check-rig';
import type { DocumentInput } from './document';

/** Where the pieces of one version stand, by keys that are the same in the next version for the same text. */
export interface Layout {
  /** Key of each rig, in the order of `Resolution.rigs`: its text with the constants and parts it uses, made unique. */
  readonly keys: readonly string[];
  readonly rigs: ReadonlyMap<string, Span>;
  /** Statements outside rigs by their text, made unique. */
  readonly outside: ReadonlyMap<string, Span>;
}

/** Results of one rig. Facts beside `rig` hold indices only, never places; checks hold places and are moved. */
export interface RigEntry {
  readonly layout: Layout;
  readonly facts: RigFacts;
  checked?: CheckedRig;
  /** Checks on their way, and what those found that need no flow. */
  checking?: Generator<CheckStep, CheckedRig, void>;
  early?: readonly Problem[];
}

export function layoutOf({ text }: DocumentInput, tree: Tree, rigs: readonly Rig[]): Layout {
  const used = usedStatements(text, tree);
  const spans = new Map<string, Span>();
  const keys = rigs.map(({ whole }) => {
    const key = uniqueKey(spans, [text.slice(whole.start, whole.end), ...used(whole)].join('\n'));
    spans.set(key, { start: whole.start, end: whole.end });
    return key;
  });
  const outside = new Map<string, Span>();
  for (const { span } of outsideStatements(tree)) {
    outside.set(uniqueKey(outside, text.slice(span.start, span.end)), span);
  }
  return { keys, rigs: spans, outside };
}

function uniqueKey(taken: ReadonlyMap<string, unknown>, text: string): string {
  let key = text;
  for (let copy = 2; taken.has(key); copy++) key = `${text}\n#${copy}`;
  return key;
}

function outsideStatements(tree: Tree): Statement[] {
  return tree.statements.filter((s) => s.kind !== 'rig');
}

/** Only these can be left out of what a rig depends on: whoever uses them names them. */
function isNamed(statement: Statement): statement is LetStatement | PartStatement {
  return (statement.kind === 'let' || statement.kind === 'part') && statement.name.text !== '';
}

/**
 * Texts of the constants and parts outside rigs that a rig uses, itself or through others. A name that merely occurs in the text
 * counts as used: too much is computed again then, never too little.
 */
function usedStatements(text: string, tree: Tree): (whole: Span) => readonly string[] {
  const named = outsideStatements(tree)
    .filter(isNamed)
    .map((s) => ({ name: s.name.text, text: text.slice(s.span.start, s.span.end) }));
  return ({ start, end }) => {
    const reached = new Set<string>();
    const reach = (within: string): void => {
      const words = within.normalize('NFC');
      for (const s of named) {
        if (reached.has(s.text) || !words.includes(s.name)) continue;
        reached.add(s.text);
        reach(s.text);
      }
    };
    if (named.length > 0) reach(text.slice(start, end));
    return named.filter((s) => reached.has(s.text)).map((s) => s.text);
  };
}

/** What every rig of the file depends on beside its own text and what it names, as one text to compare. */
export function surroundings(text: string, tree: Tree, importedTexts: string, overrides: readonly unknown[]): string {
  const outside = outsideStatements(tree)
    .filter((s) => !isNamed(s))
    .map((s) => text.slice(s.span.start, s.span.end));
  return [JSON.stringify(overrides), ...outside, importedTexts].join('\n');
}

/** The entry for the same rig at its place in the new version; null where it has to be computed again. */
export function moveEntry(entry: RigEntry, key: string, rig: Rig, layout: Layout, uri: string): RigEntry | null {
  const facts = withRig(entry.facts, rig);
  const stays = entry.layout.rigs.get(key)?.start === rig.whole.start;
  // Flow facts hold places that only the checks read; without checks of its own the rig would be checked with old places.
  if (!entry.checked) return stays ? { layout, facts } : null;
  if (stays && sameOutside(entry.layout, layout)) return { layout, facts, checked: entry.checked };
  const move = (at: Source): Source => moveSource(at, uri, key, entry.layout, layout);
  return { layout, facts, checked: movePlaces(entry.checked, move) };
}

/** Whether the statements outside rigs stand where they stood. */
function sameOutside(from: Layout, to: Layout): boolean {
  if (from === to) return true;
  for (const [text, { start }] of from.outside) if (to.outside.get(text)?.start !== start) return false;
  return true;
}

/** A place of the old version in the new one. Between statements it keeps its distance from the rig. */
function moveSource(at: Source, uri: string, key: string, from: Layout, to: Layout): Source {
  if (at.uri !== uri) return at;
  const rigFrom = from.rigs.get(key);
  const rigTo = to.rigs.get(key);
  if (!rigFrom || !rigTo) return at;
  let shift = rigTo.start - rigFrom.start;
  for (const [text, span] of from.outside) {
    if (at.start < span.start || at.start >= span.end) continue;
    shift = (to.outside.get(text)?.start ?? span.start) - span.start;
  }
  return shift === 0 ? at : { uri, start: at.start + shift, end: at.end + shift };
}

/** A copy of plain data with every place in it moved; parts without places are shared. */
export function movePlaces<T>(value: T, move: (at: Source) => Source): T {
  if (typeof value !== 'object' || value === null) return value;
  if (Array.isArray(value)) return moveArray(value, move) as T;
  if (isSource(value)) return move(value) as T;
  let changed = false;
  const copy: Record<string, unknown> = {};
  for (const [name, part] of Object.entries(value)) {
    copy[name] = movePlaces(part, move);
    changed ||= copy[name] !== part;
  }
  return changed ? (copy as T) : value;
}

function moveArray(values: readonly unknown[], move: (at: Source) => Source): readonly unknown[] {
  const moved = values.map((v) => movePlaces(v, move));
  return moved.some((v, i) => v !== values[i]) ? moved : values;
}

function isSource(value: object): value is Source {
  const { uri, start, end } = value as Partial<Source>;
  return typeof uri === 'string' && typeof start === 'number' && typeof end === 'number';
}
