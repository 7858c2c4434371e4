/** Hovers: what a name is, when it moves and why, and what the words of the language mean. Needs the analysed phase. */
import type { Span, Statement, Token } from '../../../grammar/src/ast';
import { FUNCTIONS, propertiesOf, STATEMENTS } from '../../../grammar/src/vocabulary';
import type { RigDocument } from '../document/document';
import { valueText } from '../metrics/requirement-value';
import { signatureOf } from '../metrics/metric';
import { metricNamed } from '../metrics/registry';
import { describe } from '../units/dimensions';
import { parseQuantity, unitNamed } from '../units/units';
import { contextAt } from './completion-context';
import { itemHover, rigsOfItem } from './hover-item';
import { edgeRangesWork } from '../run/edge-ranges';
import { patiently, type Work } from '../work/work';
import { code, escaped, paragraphs } from './markdown';
import { requirementsAt } from './requirement-at';
import { occurrenceAt } from './symbol-at';
import { said, say } from '../words/say';

export interface Hover {
  readonly span: Span;
  /** Markdown. */
  readonly text: string;
}

export interface HoverOptions {
  /** List the chain of causes of door movements. */
  readonly causes: boolean;
}

/** The same as `hoverAt` in steps: computes what it reads of the rigs that it is about, and of no others. */
export function* hoverWork(document: RigDocument, offset: number, options: HoverOptions): Work<Hover | null> {
  yield* document.readWork();
  for (const rig of rigsOfHover(document, offset)) {
    const { rig: model, timing } = yield* document.factsOfWork(rig);
    yield* edgeRangesWork(model, timing);
  }
  return yield* patiently(() => hoverAt(document, offset, options));
}

function rigsOfHover(document: RigDocument, offset: number): number[] {
  const occurrence = occurrenceAt(document, offset);
  return occurrence ? rigsOfItem(document, occurrence) : [];
}

/** What to show for the word at `offset`, or null. */
export function hoverAt(document: RigDocument, offset: number, options: HoverOptions): Hover | null {
  const tokens = document.parsed().tokens;
  const token = tokens.find((t) => offset >= t.span.start && offset < t.span.end);
  const occurrence = occurrenceAt(document, offset);
  if (occurrence) return { span: occurrence.at, text: itemHover(document, occurrence, options) };
  if (!token) return null;
  const text = paragraphs(requirementHover(document, token) ?? '', tokenHover(document, token) ?? '') || null;
  return text === null ? null : { span: token.span, text };
}

/** On `require` and on the metric behind it: what was found, and what it has to spare. */
function requirementHover(document: RigDocument, token: Token): string | null {
  if (token.text !== 'require' && metricNamed(token.text) === undefined) return null;
  const statement = statementAround(document.parsed().tree.statements, token.span.start);
  if (statement?.kind !== 'require') return null;
  const found = requirementsAt(document, statement.span).filter((value) => valueText(value) !== '');
  if (found.length === 0) return null;
  return paragraphs(
    ...found.flatMap((value) => {
      const name = found.length > 1 ? `${escaped(value.requirement.text)}: ` : '';
      return [`${name}**${escaped(valueText(value))}**`, escaped(value.verdict.message)];
    }),
  );
}

function statementAround(statements: readonly Statement[], offset: number): Statement | null {
  const found = statements.find((s) => offset >= s.span.start && offset < s.span.end);
  return found?.kind === 'rig' || found?.kind === 'part' ? statementAround(found.body, offset) : (found ?? null);
}

function tokenHover(document: RigDocument, token: Token): string | null {
  switch (token.kind) {
    case 'keyword':
      return keywordHover(token.text);
    case 'function':
      return functionHover(token.text);
    case 'property':
    case 'word':
      return propertyHover(document, token);
    case 'unit':
      return unitHover(token.text);
    case 'number':
      return numberHover(document, token);
    default:
      return null;
  }
}

function keywordHover(keyword: string): string | null {
  const spec = STATEMENTS.find((s) => s.keyword === keyword);
  return spec ? paragraphs(code(spec.form), sentence(said(spec.doc))) : null;
}

function functionHover(name: string): string | null {
  const block = FUNCTIONS.find((f) => f.name === name);
  if (block) {
    const call = code(`${block.name}(${block.inputs.join(', ')})`);
    return paragraphs(call, sentence(said(block.doc)), say`Standard function block, IEC 61131-3:2013, 6.6.3.5.`);
  }
  const metric = metricNamed(name);
  return metric ? paragraphs(code(signatureOf(metric)), said(metric.definition)) : null;
}

function propertyHover(document: RigDocument, token: Token): string | null {
  const { block, before } = contextAt(document.text, document.parsed().tokens, token.span.start);
  const specs = propertiesOf(block);
  const spec =
    specs.find((s) => s.keyword === token.text) ??
    specs.find((s) => s.words.includes(token.text) && before.at(-1)?.text === s.keyword);
  if (!spec) return null;
  const words = spec.words.length > 0 ? ` ${spec.words.join('|')}` : '';
  const value = spec.dimensions.map((d) => describe(d)).join(` ${say`or`} `);
  return paragraphs(
    code(`${spec.keyword}${words}`),
    sentence(said(spec.doc)),
    value === '' ? '' : say`Takes ${value}.`,
  );
}

function unitHover(name: string): string | null {
  const unit = unitNamed(name);
  if (!unit) return null;
  return paragraphs(`${code(unit.name)} ${said(unit.doc)}, ${describe(unit.dimension)}`, unit.source);
}

/** A number with its unit in the SI unit, where that says more than the text. */
function numberHover(document: RigDocument, token: Token): string | null {
  const tokens = document.parsed().tokens;
  const next = tokens[tokens.indexOf(token) + 1];
  if (next?.kind !== 'unit') return null;
  const read = parseQuantity(token.text, next.text);
  return read.ok ? unitHover(next.text) : null;
}

function sentence(text: string): string {
  return text === '' ? '' : `${text[0]!.toUpperCase()}${text.slice(1)}${text.endsWith('.') ? '' : '.'}`;
}
