/**
 * A rig with some of its text changed in memory, as often as a hand moves. The other rigs of the file are blanked, so that a trial costs
 * what its rig costs and all offsets stay.
 */
import type { TextEdit } from '../../model/problem';
import type { RigFacts } from '../../run/facts';
import { kept, type Kept, type Work } from '../../work/work';
import { createDocument, type DocumentSettings, type ReadText, type RigDocument } from '../document';

export interface Trial {
  readonly document: RigDocument;
  /** Name of the rig. */
  readonly rig: string;
  /** The facts with these edits made; null where the text would have an error that it has not now. May be read under `patiently`. */
  factsWith(edits: readonly TextEdit[]): RigFacts | null;
  /** The same in steps. */
  factsWork(edits: readonly TextEdit[]): Work<RigFacts | null>;
}

/** Number of results kept, most recently used. */
const KEPT = 96;

/** Trials of one rig of a document; null where there is no such rig, or its control has mistakes. */
export function createTrial(document: RigDocument, rig: string, settings: DocumentSettings): Trial | null {
  const found = document.resolved().rigs.find((r) => r.name === rig);
  if (!found || (found.incomplete?.length ?? 0) > 0 || found.whole.uri !== document.uri) return null;
  const base = otherRigsBlanked(document, found.whole.start);
  function* run(edits: readonly TextEdit[]): Work<RigFacts | null> {
    allowed ??= yield* errorsNow(document, base, settings);
    const texts = editedTexts(document, base, edits);
    const read: ReadText = (uri) => texts.get(uri) ?? document.readText(uri);
    const { uri, version } = document;
    const trial = createDocument({ uri, version, text: texts.get(uri) ?? base }, read, settings);
    yield* trial.readWork();
    if (
      trial.parsed().problems.length > 0 ||
      trial.resolved().problems.filter((p) => p.severity === 'error').length > allowed
    )
      return null;
    yield;
    // The other rigs are blanked, so this is the only one that is computed.
    const all = yield* trial.factsWork();
    return all.find((facts) => facts.rig.name === rig) ?? null;
  }
  let allowed: number | null = null;
  const results = new Map<string, Kept<RigFacts | null>>();
  const factsOf = (edits: readonly TextEdit[]): Kept<RigFacts | null> => {
    const key = edits.map(({ at, text }) => `${at.uri} ${at.start} ${text}`).join('\n');
    const facts = results.get(key) ?? kept(() => run(edits));
    results.delete(key);
    results.set(key, facts);
    for (const oldest of results.keys()) if (results.size > KEPT) results.delete(oldest);
    return facts;
  };
  return {
    document,
    rig,
    factsWith: (edits) => factsOf(edits).value(),
    factsWork: (edits) => factsOf(edits).work(),
  };
}

function* errorsNow(document: RigDocument, text: string, settings: DocumentSettings): Work<number> {
  const copy = createDocument({ uri: document.uri, version: document.version, text }, document.readText, settings);
  yield* copy.readWork();
  return copy.resolved().problems.filter((p) => p.severity === 'error').length;
}

/** Blanks in place of all rigs but the one that starts at an offset; ends of lines stay. */
function otherRigsBlanked(document: RigDocument, keep: number): string {
  let text = document.text;
  for (const { kind, span } of document.parsed().tree.statements) {
    if (kind !== 'rig' || span.start === keep) continue;
    text = text.slice(0, span.start) + text.slice(span.start, span.end).replace(/[^\r\n]/g, ' ') + text.slice(span.end);
  }
  return text;
}

function editedTexts(document: RigDocument, base: string, edits: readonly TextEdit[]): Map<string, string> {
  const texts = new Map<string, string>();
  for (const { at, text } of [...edits].sort((a, b) => b.at.start - a.at.start)) {
    const before = texts.get(at.uri) ?? (at.uri === document.uri ? base : (document.readText(at.uri) ?? ''));
    texts.set(at.uri, before.slice(0, at.start) + text + before.slice(at.end));
  }
  return texts;
}
