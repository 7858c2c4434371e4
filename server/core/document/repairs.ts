/**
 * Takes the repairs of a file without a person looking at each, until none is left. A repair is neutral where the rigs mean the same
 * before and after it: it changes how something is written, or removes what nothing uses.
 */
import { parse } from '../../../grammar/src/api';
import type { Fix } from '../model/problem';
import { resolveFile } from '../model/resolve';
import { applyEdits } from './apply-edits';
import type { RigDocument } from './document';
import { createImports } from './imports';

export interface Repaired {
  /** The text with every repair taken; the old text where none was. */
  readonly text: string;
  /** Titles of what was taken, in order. */
  readonly taken: readonly string[];
  /** Why the text was left as it is although there were repairs; null otherwise. */
  readonly refused: string | null;
}

/** More rounds than any text needs whose repairs do not undo each other. */
const ROUNDS = 200;

/**
 * @param reopen the document of another text of the same file
 * @param every also repairs that change what a rig does; of several at one place the preferred one
 */
export function repairAll(document: RigDocument, reopen: (text: string) => RigDocument, every: boolean): Repaired {
  const taken: string[] = [];
  const seen = new Set([document.text]);
  for (let now = document; taken.length < ROUNDS;) {
    const next = nextRepair(now, every);
    if (!next) return { text: now.text, taken, refused: null };
    taken.push(next.title);
    if (seen.has(next.text)) break;
    seen.add(next.text);
    now = reopen(next.text);
  }
  return { text: document.text, taken: [], refused: 'the quick fixes of this file undo each other' };
}

/** The first repair that may be taken, and the text after it. */
function nextRepair(document: RigDocument, every: boolean): { readonly title: string; readonly text: string } | null {
  const before = every ? '' : meaning(document, document.text);
  for (const { fixes = [] } of document.problems()) {
    const able = fixes.filter((f) => !f.costs && f.edits.every((e) => e.at.uri === document.uri));
    const chosen = able.find((f) => f.preferred);
    const wanted: readonly Fix[] = every ? (chosen ? [chosen] : []) : able;
    for (const fix of wanted) {
      const text = textAfter(document, fix);
      if (text === null || text === document.text) continue;
      if (every || meaning(document, text) === before) return { title: fix.title, text };
    }
  }
  return null;
}

function textAfter(document: RigDocument, fix: Fix): string | null {
  const read = (uri: string): string | undefined => (uri === document.uri ? document.text : document.readText(uri));
  const applied = applyEdits(fix.edits, read, { users: [document.uri] });
  return applied.ok ? (applied.texts.get(document.uri) ?? null) : null;
}

/** What the rigs of a text are, without where and in which words they are written. */
function meaning(document: RigDocument, text: string): string {
  const { uri } = document;
  const read = (other: string): string | undefined => (other === uri ? text : document.readText(other));
  const { tree } = parse(text);
  const { rigs } = resolveFile({ uri, tree, text }, createImports(read).readTree, { overrides: new Map() });
  return JSON.stringify(rigs, (key, value: unknown) => (OF_TEXT.has(key) || isPlace(value) ? undefined : plain(value)));
}

/** What a rig keeps of its own words: shown, never computed with. */
const OF_TEXT: ReadonlySet<string> = new Set(['text', 'doc', 'incomplete', 'constants']);

const plain = (value: unknown): unknown =>
  value instanceof Map || value instanceof Set ? [...value] : typeof value === 'bigint' ? `${value}` : value;

function isPlace(value: unknown): boolean {
  return typeof value === 'object' && value !== null && 'uri' in value && 'start' in value && 'end' in value;
}
