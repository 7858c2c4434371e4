/** Signals and drives for a wanted sequence, put before it in the text and verified: the sequence stays as the intent they are checked against. */
import { blocksIn, sequenceTimers } from '../choose/sequence-timers';
import type { TextEdit } from '../model/problem';
import type { Sequence } from '../model/rig';
import { createDocument, type RigDocument } from './document';

export type Wired =
  | {
      readonly ok: true;
      readonly statements: readonly string[];
      readonly blocks: readonly string[];
      readonly edit: TextEdit;
      /** Errors and warnings that the wiring brings with it: none where the doors follow the sequence. */
      readonly findings: readonly string[];
    }
  /** One sentence. */
  | { readonly ok: false; readonly message: string };

/** @param allowed names of blocks that may be used; all where null */
export function wireSequence(
  document: RigDocument,
  index: number,
  sequence: Sequence,
  allowed: readonly string[] | null,
): Wired {
  const rig = document.resolved().rigs[index]!;
  if (!sequence.drives)
    return {
      ok: false,
      message: `The doors of ${sequence.name} have drives already; the sequence only states what is meant.`,
    };
  if (sequence.whole.uri !== document.uri)
    return { ok: false, message: `${sequence.name} stands in another file; wire it there.` };
  const made = sequenceTimers(rig, sequence, allowed);
  if (!made.ok) return { ok: false, message: `${sequence.name} cannot be wired: ${made.reason}.` };
  const blocks = blocksIn(made.statements);
  const { start } = sequence.whole;
  const indent = /[ \t]*$/.exec(document.text.slice(0, start))![0];
  const text = made.statements.map((s) => `${s}\n${indent}`).join('');
  const after = document.text.slice(0, start) + text + document.text.slice(start);
  return {
    ok: true,
    statements: made.statements,
    blocks,
    edit: { at: { uri: document.uri, start, end: start }, text },
    findings: newFindings(document, after),
  };
}

function newFindings(document: RigDocument, after: string): string[] {
  const grave = (d: RigDocument): { code: string; message: string }[] =>
    d.problems().filter((p) => p.severity === 'error' || p.severity === 'warning');
  const known = new Set(grave(document).map((p) => p.code));
  const changed = createDocument({ uri: document.uri, version: 0, text: after }, document.readText);
  return grave(changed)
    .filter((p) => !known.has(p.code))
    .map((p) => `${p.code}: ${p.message}`);
}
