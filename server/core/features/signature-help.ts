/** Signature of the call around the cursor: function blocks, metrics, parts. Needs the resolved phase for parts only. */
import type { PartStatement, Statement } from '../../../grammar/src/ast';
import { FUNCTIONS } from '../../../grammar/src/vocabulary';
import type { RigDocument } from '../document/document';
import { kindText } from '../metrics/metric';
import { metricNamed } from '../metrics/registry';
import { contextAt } from './completion-context';
import { said, say } from '../words/say';

export interface Signature {
  readonly label: string;
  readonly documentation: string;
  /** Ranges within `label`. */
  readonly parameters: readonly { readonly start: number; readonly end: number; readonly doc: string }[];
  /** Index of the argument at the cursor. */
  readonly active: number;
}

const INPUT_DOCS: Readonly<Record<string, () => string>> = {
  IN: () => say`the input signal`,
  PT: () => say`the preset time`,
  CLK: () => say`the signal whose edges count`,
  S1: () => say`sets the latch (dominant)`,
  S: () => say`sets the latch`,
  R: () => say`resets`,
  R1: () => say`resets the latch (dominant)`,
  CU: () => say`counts up at each rising edge`,
  PV: () => say`the count at which it comes on`,
};

/** The signature at `offset`, or null where the cursor is in no call. */
export function signatureAt(document: RigDocument, offset: number): Signature | null {
  const { call, inComment } = contextAt(document.text, document.parsed().tokens, offset);
  if (!call || inComment) return null;
  const block = FUNCTIONS.find((f) => f.name === call.callee);
  if (block) {
    const parameters = block.inputs.map((name) => ({ text: name, doc: INPUT_DOCS[name]?.() ?? '' }));
    return build(block.name, parameters, said(block.doc), call.argument);
  }
  const metric = metricNamed(call.callee);
  if (metric) {
    const parameters = metric.parameters.map((p) => ({ text: `${p.name}: ${kindText(p)}`, doc: '' }));
    const repeats = metric.parameters.at(-1)?.kind === 'events';
    const active = repeats ? Math.min(call.argument, parameters.length - 1) : call.argument;
    return build(metric.name, parameters, said(metric.definition), active);
  }
  const part = findPart(document.parsed().tree.statements, call.callee);
  if (!part) return null;
  const parameters = part.parameters.map((p) => ({ text: p.text, doc: '' }));
  return build(part.name.text, parameters, part.documentation, call.argument);
}

function build(
  name: string,
  parameters: readonly { readonly text: string; readonly doc: string }[],
  documentation: string,
  active: number,
): Signature {
  let label = `${name}(`;
  const ranges = parameters.map((p, i) => {
    if (i > 0) label += ', ';
    const start = label.length;
    label += p.text;
    return { start, end: label.length, doc: p.doc };
  });
  return { label: `${label})`, documentation, parameters: ranges, active };
}

function findPart(statements: readonly Statement[], name: string): PartStatement | null {
  for (const s of statements) {
    if (s.kind === 'part' && s.name.text === name) return s;
    const inside = s.kind === 'rig' ? findPart(s.body, name) : null;
    if (inside) return inside;
  }
  return null;
}
