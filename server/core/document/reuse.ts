/**
 * Taking facts and checks over from one version of a text to the next. A rig's results depend on its own text and on its
 * surroundings (statements outside rigs, imported texts, overrides); where both are the same, only places move.
 */
import type { Span, Tree } from '../../../grammar/src/ast';
import type { Source } from '../model/problem';
import type { Rig } from '../model/rig';
import { withRig } from '../run/analyse';
import type { RigFacts } from '../run/facts';
import type { CheckedRig } from './check-rig';
import type { DocumentInput } from './document';

/** Where the pieces of one version stand: rigs by key, and the statements outside them in order. */
export interface Layout {
  /** Key of each rig, in the order of `Resolution.rigs`: its text, made unique. */
  readonly keys: readonly string[];
  readonly rigs: ReadonlyMap<string, Span>;
  readonly outside: readonly Span[];
}

/** Results of one rig. Facts beside `rig` hold indices only, never places; checks hold places and are moved. */
export interface RigEntry {
  readonly layout: Layout;
  readonly facts: RigFacts;
  checked?: CheckedRig;
}

export function layoutOf(input: DocumentInput, tree: Tree, rigs: readonly Rig[]): Layout {
  const spans = new Map<string, Span>();
  const keys = rigs.map((rig) => {
    const text = input.text.slice(rig.whole.start, rig.whole.end);
    let key = text;
    for (let copy = 2; spans.has(key); copy++) key = `${text}\n#${copy}`;
    spans.set(key, { start: rig.whole.start, end: rig.whole.end });
    return key;
  });
  return { keys, rigs: spans, outside: outsideStatements(tree) };
}

function outsideStatements(tree: Tree): Span[] {
  return tree.statements.filter((s) => s.kind !== 'rig').map((s) => s.span);
}

/** All a rig's results depend on beside its own text, as one text to compare. */
export function surroundings(text: string, tree: Tree, importedTexts: string, overrides: readonly unknown[]): string {
  const outside = outsideStatements(tree).map((s) => text.slice(s.start, s.end));
  return [JSON.stringify(overrides), ...outside, importedTexts].join('\n');
}

/** The entry for the same rig at its place in the new version; null where it has to be worked out again. */
export function moveEntry(entry: RigEntry, key: string, rig: Rig, layout: Layout, uri: string): RigEntry | null {
  const facts = withRig(entry.facts, rig);
  const stays = entry.layout.rigs.get(key)?.start === rig.whole.start;
  // Flow facts hold places that only the checks read; without checks of its own the rig would be checked with old places.
  if (!entry.checked) return stays ? { layout, facts } : null;
  const move = (at: Source): Source => moveSource(at, uri, key, entry.layout, layout);
  return { layout, facts, checked: movePlaces(entry.checked, move) };
}

/** A place of the old version in the new one. Between statements it keeps its distance from the rig. */
function moveSource(at: Source, uri: string, key: string, from: Layout, to: Layout): Source {
  if (at.uri !== uri) return at;
  const rigFrom = from.rigs.get(key);
  const rigTo = to.rigs.get(key);
  if (!rigFrom || !rigTo) return at;
  let shift = rigTo.start - rigFrom.start;
  const statement = from.outside.findIndex((s) => at.start >= s.start && at.start < s.end);
  if (statement !== -1) shift = (to.outside[statement]?.start ?? 0) - from.outside[statement]!.start;
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
