/** What may be written at a place of the text. Works from the tokens before it and the names in scope. Needs the resolved phase. */
import type { DimensionName, PropertySpec } from '../../../grammar/src/vocabulary';
import { EVENT_WORDS, FUNCTIONS, PHASE_WORDS, PROPERTIES, STATEMENTS } from '../../../grammar/src/vocabulary';
import type { Span, Token } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import { metricNamed, METRICS } from '../metrics/registry';
import { signatureOf } from '../metrics/metric';
import type { ItemKind } from '../model/rig';
import { describe } from '../units/dimensions';
import { UNITS } from '../units/table';
import type { CursorContext } from './completion-context';
import { contextAt } from './completion-context';
import type { Visible } from './scope';
import { dimensionOfLet, visibleNames } from './scope';
import { MORE_SNIPPETS, STATEMENT_SNIPPETS } from './snippets';

export type SuggestionKind =
  | 'keyword'
  | 'statement'
  | 'property'
  | 'word'
  | 'unit'
  | 'function'
  | 'metric'
  | 'chamber'
  | 'door'
  | 'line'
  | 'input'
  | 'signal'
  | 'constant'
  | 'event'
  | 'part'
  | 'file';

export interface Suggestion {
  readonly label: string;
  readonly kind: SuggestionKind;
  readonly detail: string;
  /** Markdown, shown for the chosen line. */
  readonly documentation: string;
  /** With tab stops, for editors that have them. */
  readonly snippet?: string;
  /** Where it is not the label. */
  readonly text?: string;
  readonly replace: Span;
}

/** A suggestion before it is known what it replaces. */
type Draft = Omit<Suggestion, 'replace'>;

export interface CompletionOptions {
  /** Offer whole statements. */
  readonly snippets: boolean;
  /** Files that an import may name, as written in the text. */
  readonly importable: readonly string[];
  /** Asked because a blank was typed: where anything could begin, nothing is offered. */
  readonly afterBlank: boolean;
}

/** Suggestions in the order in which they are to be shown. */
export function suggestionsAt(document: RigDocument, offset: number, options: CompletionOptions): Suggestion[] {
  const context = contextAt(document.text, document.parsed().tokens, offset);
  if (context.inComment) return [];
  if (context.stringStart >= 0) return importPaths(document, context, offset, options.importable);
  const drafts = draftsFor({ document, offset, context, options });
  return drafts.map((draft) => ({ ...draft, replace: context.replace }));
}

interface Place {
  readonly document: RigDocument;
  readonly offset: number;
  readonly context: CursorContext;
  readonly options: CompletionOptions;
}

function draftsFor(place: Place): Draft[] {
  const { context, options } = place;
  const { before, block } = context;
  const last = before.at(-1);
  if (before.length === 0 && options.afterBlank) return [];
  if (last?.kind === 'number') return units(dimensionsExpected(place));
  if (context.call) return inCall(place);
  if (block === 'file' || block === 'rig' || block === 'part') return inStatement(place, block);
  if (block === 'sequence') return inSequence(place);
  if (block === 'scenario') return inScenario(place);
  return inProperties(place, PROPERTIES[block] ?? []);
}

// ---------------------------------------------------------------- statements

function inStatement(place: Place, block: 'file' | 'rig' | 'part'): Draft[] {
  const { before } = place.context;
  const [first] = before;
  if (!first) return statements(block, place.options.snippets);
  const count = before.length;
  switch (first.text) {
    case 'medium':
      return count === 2 ? PHASE_WORDS.map((w) => word(w, 'phase of the medium')) : [];
    case 'stack':
      return count === 1 || isText(before.at(-1), '>') ? stackMembers(place) : [];
    case 'feed':
    case 'draw':
      return lineHead(place, first.text);
    case 'switch':
      return afterEquals(before) ? states() : [];
    case 'sensor':
      return count === 2 ? [word('on', 'the chamber it sits on')] : count === 3 ? names(place, ['chamber']) : [];
    case 'sequence':
      return count === 2
        ? [word('on', 'the signal that starts it')]
        : count === 3
          ? names(place, ['signal', 'sensor', 'switch'])
          : [];
    case 'place':
      return count === 3 && afterEquals(before) ? names(place, ['part']) : [];
    case 'let':
      return count >= 3 && expectsOperand(before) ? names(place, ['let', 'parameter']) : [];
    case 'signal':
      return count === 1 ? [] : signalRest(place);
    case 'drive':
      return count === 1 ? driveTargets(place) : signalRest(place);
    case 'require':
      return requireRest(place);
    default:
      return [];
  }
}

function statements(block: 'file' | 'rig' | 'part', snippets: boolean): Draft[] {
  const fitting = STATEMENTS.filter((s) => s.where.includes(block));
  const drafts: Draft[] = fitting.map((s) => ({
    label: s.keyword,
    kind: 'keyword',
    detail: s.form,
    documentation: s.doc,
    ...(snippets ? { snippet: STATEMENT_SNIPPETS[s.keyword] } : {}),
  }));
  if (!snippets) return drafts;
  const more = MORE_SNIPPETS.filter((m) => fitting.some((s) => s.keyword === m.keyword));
  return [
    ...drafts,
    ...more.map((m): Draft => ({
      label: m.label,
      kind: 'statement',
      detail: m.keyword,
      documentation: '',
      snippet: m.snippet,
      text: m.keyword,
    })),
  ];
}

function lineHead(place: Place, keyword: string): Draft[] {
  const count = place.context.before.length;
  if (count === 2) return [word(keyword === 'feed' ? 'into' : 'from', 'the chamber')];
  return count === 3 ? names(place, ['chamber']) : [];
}

/** Members alternate between chambers and doors; those already in the stack are left out. */
function stackMembers(place: Place): Draft[] {
  const { before } = place.context;
  const used = new Set(before.map((t) => t.text));
  const count = before.filter((t) => t.kind === 'name').length;
  const kinds: ItemKind[] = count === 0 ? ['chamber'] : ['door', 'chamber'];
  return names(place, kinds).filter((d) => !used.has(d.label));
}

/** Doors first, and those without a drive before the others. */
function driveTargets(place: Place): Draft[] {
  const rig = place.document
    .parsed()
    .tree.statements.find((s) => s.span.start <= place.offset && place.offset <= s.span.end);
  const body = rig?.kind === 'rig' || rig?.kind === 'part' ? rig.body : [];
  const driven = new Set(body.map((s) => (s.kind === 'drive' ? s.target.text : '')));
  const all = names(place, ['door', 'feed', 'draw']);
  return [...all.filter((d) => !driven.has(d.label)), ...all.filter((d) => driven.has(d.label))];
}

/** After the name of a `signal` or `drive`: the equals sign and the expression. */
function signalRest(place: Place): Draft[] {
  const { before } = place.context;
  if (!before.some((t) => t.text === '=')) return [];
  if (before.at(-1)?.text === 'responds') return names(place, ['let', 'parameter'], 'time');
  if (expectsOperand(before)) return operands(place);
  return before[0]?.text === 'signal' && !before.some((t) => t.text === 'responds')
    ? [...operators(), word('responds', 'response of this element')]
    : operators();
}

function requireRest(place: Place): Draft[] {
  const { before } = place.context;
  if (before.length === 1) return metrics();
  const last = before.at(-1)!;
  if (last.text === 'during') return names(place, ['scenario']);
  const compared = before.some((t) => isComparison(t));
  if (!compared && last.text === ')') return afterMetric(before[1]!.text);
  if (compared && expectsOperand(before)) return names(place, ['let'], firstDimension(before[1]?.text));
  return [word('during', 'measure in this scenario')];
}

function firstDimension(metric: string | undefined): string | undefined {
  const found = metric === undefined ? undefined : metricNamed(metric);
  return found && found.kind !== 'state' ? found.dimensions[0] : undefined;
}

function afterMetric(name: string): Draft[] {
  const during = word('during', 'measure in this scenario');
  if (metricNamed(name)?.kind === 'state') return [during];
  const docs: readonly (readonly [string, string])[] = [
    ['>=', 'at least'],
    ['<=', 'at most'],
    ['in', 'from … to …, both included: `in 50 ms .. 400 ms`'],
    ['>', 'more than'],
    ['<', 'less than'],
    ['=', 'exactly'],
    ['<>', 'anything but'],
  ];
  return [...docs.map(([label, doc]) => word(label, doc)), during];
}

// ---------------------------------------------------------------- calls

function inCall(place: Place): Draft[] {
  const call = place.context.call!;
  const { before } = place.context;
  if (before[0]?.text === 'place')
    return names(place, ['let', 'parameter', 'chamber', 'door', 'signal', 'sensor', 'switch']);
  const block = FUNCTIONS.find((f) => f.name === call.callee);
  if (block) {
    const input = block.inputs[call.argument];
    if (input === 'PT') return names(place, ['let', 'parameter'], 'time');
    if (input === 'PV') return names(place, ['let', 'parameter'], 'none');
    return input === undefined ? [] : expectsOperand(before) ? operands(place) : operators();
  }
  return inMetric(place, call.callee, call.argument);
}

function inMetric(place: Place, name: string, argument: number): Draft[] {
  const parameters = metricNamed(name)?.parameters ?? [];
  const parameter = parameters[argument] ?? (parameters.at(-1)?.kind === 'events' ? parameters.at(-1) : undefined);
  const { before } = place.context;
  const operand = expectsOperand(before);
  switch (parameter?.kind) {
    case 'door':
    case 'chamber':
      return operand ? names(place, [parameter.kind]) : [];
    case 'signal':
      return operand ? names(place, ['signal', 'sensor', 'switch']) : [];
    case 'condition':
      return operand ? [...names(place, ['door', 'signal', 'sensor', 'switch']), word('not', 'negation')] : operators();
    case 'events':
      return operand ? names(place, ['door']) : EVENT_WORDS.map((w) => word(w, EVENT_DOCS[w] ?? ''));
    case 'quantity':
      return operand ? names(place, ['let', 'parameter'], parameter.dimensions?.[0]) : [];
    default:
      return [];
  }
}

const EVENT_DOCS: Readonly<Record<string, string>> = {
  opens: 'leaves its shut position',
  opened: 'is fully open',
  closes: 'starts to close',
  shuts: 'is fully shut',
};

// ---------------------------------------------------------------- blocks

/** Tokens since the last word that begins a step. */
function step(before: readonly Token[], begins: readonly string[]): readonly Token[] {
  for (let i = before.length - 1; i >= 0; i--) if (begins.includes(before[i]!.text)) return before.slice(i);
  return [];
}

function inSequence(place: Place): Draft[] {
  const now = step(place.context.before, ['at', 'repeat']);
  const last = now.at(-1)?.text;
  if (now.length === 0) return [word('at', 'a step: when, what, which doors'), word('repeat', '`repeat after 10 s`')];
  if (last === 'repeat') return [word('after', 'the interval of repetition')];
  if (last === 'at' || last === 'after') return names(place, ['let', 'parameter'], 'time');
  if (last === 'open' || last === 'close' || last === ',') return names(place, ['door']);
  const acts = now.some((t) => t.text === 'open' || t.text === 'close');
  return acts || now[0]!.text === 'repeat' ? [] : [word('open', 'starts to open'), word('close', 'starts to close')];
}

const SCENARIO_TARGETS: Readonly<Record<string, readonly ItemKind[]>> = {
  feed: ['feed'],
  draw: ['draw'],
  switch: ['switch'],
  sensor: ['sensor'],
};

function inScenario(place: Place): Draft[] {
  const now = step(place.context.before, ['at', 'for']);
  const last = now.at(-1)?.text ?? '';
  if (now.length === 0) return [word('at', 'an operation at this time'), word('for', 'how long the scenario lasts')];
  if (last === 'at' || last === 'for') return names(place, ['let'], 'time');
  if (now[0]!.text === 'for') return [];
  const action = now.find((t) => t.text in SCENARIO_TARGETS || t.text === 'power');
  if (!action) return [...Object.keys(SCENARIO_TARGETS), 'power'].map((w) => word(w, 'what is operated'));
  if (action.text === 'power') return last === 'power' ? states() : [];
  if (now.at(-1) === action) return names(place, SCENARIO_TARGETS[action.text]!);
  return last === 'on' || last === 'off' ? [] : states();
}

function inProperties(place: Place, specs: readonly PropertySpec[]): Draft[] {
  const { before } = place.context;
  const { spec, after } = currentProperty(before, specs);
  if (!spec) return propertyKeywords(place, specs);
  const given = after.find((t) => spec.words.includes(t.text));
  if (spec.words.length > 0 && !given) return spec.words.map((w) => word(w, spec.doc));
  if (spec.dimensions.length === 0) return propertyKeywords(place, specs);
  const value = given ? after.slice(after.indexOf(given) + 1) : after;
  if (value.length === 0 || value.at(-1)?.kind === 'operator') {
    return spec.dimensions.flatMap((d) => names(place, ['let', 'parameter'], d));
  }
  return propertyKeywords(place, specs);
}

/** The last property begun and the tokens after its keyword. */
function currentProperty(before: readonly Token[], specs: readonly PropertySpec[]) {
  for (let i = before.length - 1; i >= 0; i--) {
    const token = before[i]!;
    if (token.kind !== 'property' && token.kind !== 'name' && token.kind !== 'word') continue;
    const spec = specs.find((s) => s.keyword === token.text);
    if (spec) return { spec, after: before.slice(i + 1) };
  }
  return { spec: undefined, after: [] };
}

/** Keywords not yet used in this block, or that may stand several times. */
function propertyKeywords(place: Place, specs: readonly PropertySpec[]): Draft[] {
  const { document, context, options } = place;
  if (options.afterBlank && context.before.length === 0) return [];
  const used = usedProperties(document.parsed().tokens, context);
  return specs
    .filter((s) => s.repeatable || !used.has(s.keyword))
    .map((s) => ({ label: s.keyword, kind: 'property', detail: propertyForm(s), documentation: s.doc }));
}

function usedProperties(tokens: readonly Token[], context: CursorContext): Set<string> {
  const used = new Set<string>();
  for (const token of tokens) {
    if (token.span.start < context.blockStart) continue;
    if (token.kind === 'bracket' && token.text === '}') break;
    if (token.kind === 'property' && token.span.start !== context.replace.start) used.add(token.text);
  }
  return used;
}

function propertyForm(spec: PropertySpec): string {
  const words = spec.words.length > 0 ? ` ${spec.words.join('|')}` : '';
  const value = spec.dimensions.map((d) => describe(d).replace(/^an? /, '')).join(' or ');
  return value === '' ? `${spec.keyword}${words}` : `${spec.keyword}${words}: ${value}`;
}

// ---------------------------------------------------------------- quantities

/** The dimensions a number at this place may have; empty where that is not known. */
function dimensionsExpected(place: Place): readonly string[] {
  const { context } = place;
  const { before, block, call } = context;
  if (call) {
    const input = FUNCTIONS.find((f) => f.name === call.callee)?.inputs[call.argument];
    if (input) return input === 'PT' ? ['time'] : ['none'];
    return metricNamed(call.callee)?.parameters[call.argument]?.dimensions ?? [];
  }
  if (block === 'sequence' || block === 'scenario') return ['time'];
  if (before[0]?.text === 'signal') return ['time'];
  if (before[0]?.text === 'require') {
    const metric = metricNamed(before[1]?.text ?? '');
    return metric && metric.kind !== 'state' ? metric.dimensions : [];
  }
  const spec = currentProperty(before, PROPERTIES[block] ?? []).spec;
  return spec?.dimensions ?? [];
}

function units(dimensions: readonly string[]): Draft[] {
  const fitting = dimensions.length === 0 ? UNITS : dimensions.flatMap((d) => UNITS.filter((u) => u.dimension === d));
  return fitting.map((unit) => ({
    label: unit.name,
    kind: 'unit',
    detail: `${unit.doc}, ${describe(unit.dimension as DimensionName)}`,
    documentation: unit.source,
  }));
}

// ---------------------------------------------------------------- names and words

const KIND_OF: Readonly<Partial<Record<ItemKind, SuggestionKind>>> = {
  chamber: 'chamber',
  door: 'door',
  feed: 'line',
  draw: 'line',
  switch: 'input',
  sensor: 'input',
  signal: 'signal',
  let: 'constant',
  parameter: 'constant',
  medium: 'constant',
  sequence: 'event',
  scenario: 'event',
  part: 'part',
  place: 'part',
};

/** Names in scope; constants of another dimension than the wanted one are left out where that can be seen. */
function names({ document, offset }: Place, kinds: readonly ItemKind[], dimension?: string): Draft[] {
  const fits = (v: Visible): boolean => {
    if (dimension === undefined || v.kind !== 'let') return true;
    const known = dimensionOfLet(document, v.name);
    return known === null || known === dimension;
  };
  return visibleNames(document, offset, kinds)
    .filter(fits)
    .map((v) => ({ label: v.name, kind: KIND_OF[v.kind] ?? 'signal', detail: v.detail, documentation: v.doc }));
}

/** What an expression of a signal may be made of. */
function operands(place: Place): Draft[] {
  const calls = FUNCTIONS.map((f): Draft => {
    const stops = f.inputs.map((input, i) => `\${${i + 1}:${input}}`).join(', ');
    return {
      label: f.name,
      kind: 'function',
      detail: `${f.name}(${f.inputs.join(', ')})`,
      documentation: f.doc,
      snippet: `${f.name}(${stops})`,
    };
  });
  return [...names(place, ['signal', 'sensor', 'switch', 'parameter']), ...calls, word('not', 'negation'), ...states()];
}

function operators(): Draft[] {
  return [word('and', 'both'), word('or', 'one or both'), word('xor', 'exactly one')];
}

function states(): Draft[] {
  return [word('on', ''), word('off', '')];
}

function metrics(): Draft[] {
  return METRICS.map((m) => ({
    label: m.name,
    kind: 'metric',
    detail: signatureOf(m),
    documentation: m.definition,
    snippet: m.parameters.length === 0 ? `${m.name}()$0` : `${m.name}(${metricStops(m.parameters)})$0`,
  }));
}

function metricStops(parameters: readonly { readonly name: string }[]): string {
  return parameters.map((p, i) => `\${${i + 1}:${p.name}}`).join(', ');
}

function word(label: string, doc: string): Draft {
  return { label, kind: 'word', detail: doc, documentation: '' };
}

function isText(token: Token | undefined, text: string): boolean {
  return token?.text === text;
}

function isComparison(token: Token): boolean {
  return ['<', '<=', '>', '>=', '=', '<>', 'in'].includes(token.text);
}

function afterEquals(before: readonly Token[]): boolean {
  return isText(before.at(-1), '=');
}

/** Whether a value is to come: after an operator, a comma, an opening bracket. */
function expectsOperand(before: readonly Token[]): boolean {
  const last = before.at(-1);
  if (!last) return true;
  return last.kind === 'operator' || last.kind === 'separator' || last.text === '(' || isComparison(last);
}

function importPaths(
  document: RigDocument,
  context: CursorContext,
  offset: number,
  paths: readonly string[],
): Suggestion[] {
  const statement = document.parsed().tree.statements.find((s) => s.kind === 'import' && s.span.start < offset);
  if (!statement) return [];
  const replace = { start: context.stringStart, end: offset };
  return paths.map((path) => ({ label: path, kind: 'file', detail: '', documentation: '', replace }));
}
