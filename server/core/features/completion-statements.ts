/** Suggestions inside a statement outside braces: `drive |`, `signal x = |`, `require |`. */
import type { Token } from '../../../grammar/src/ast';
import { DIRECTION_WORDS, PHASE_WORDS, STATEMENTS } from '../../../grammar/src/vocabulary';
import { signatureOf } from '../metrics/metric';
import { metricNamed, METRICS } from '../metrics/registry';
import type { ItemKind } from '../model/rig';
import type { Draft, Place } from './completion-draft';
import {
  afterEquals,
  expectsOperand,
  isComparison,
  isText,
  names,
  operands,
  operators,
  states,
  word,
} from './completion-draft';
import { MORE_SNIPPETS, STATEMENT_SNIPPETS } from './snippets';
import { said, say } from '../words/say';

export function inStatement(place: Place, block: 'file' | 'rig' | 'part'): Draft[] {
  const { before } = place.context;
  const [first] = before;
  if (!first) return statements(block, place.options.snippets);
  const count = before.length;
  switch (first.text) {
    case 'medium':
      return count === 2 ? PHASE_WORDS.map((w) => word(w, say`phase of the medium`)) : [];
    case 'stack':
      return count === 1 || isText(before.at(-1), '>') ? stackMembers(place) : [];
    case 'feed':
    case 'draw':
      return lineHead(place, first.text);
    case 'switch':
      return afterEquals(before) ? states() : [];
    case 'sensor':
      return count === 2 ? [word('on', say`the chamber it sits on`)] : count === 3 ? names(place, ['chamber']) : [];
    case 'sequence':
      return count === 2
        ? [word('on', say`the signal that starts it`)]
        : count === 3
          ? names(place, ['signal', 'sensor', 'switch'])
          : [];
    case 'place':
      return count === 3 && afterEquals(before) ? names(place, ['part']) : [];
    case 'let':
      return count < 3 ? [] : expectsOperand(before) ? constantsBut(place, before[1]!.text) : rangeAfter(before);
    case 'signal':
      return count === 1 ? [] : signalRest(place);
    case 'drive':
      return count === 1 ? driveTargets(place) : signalRest(place);
    case 'require':
      return requireRest(place);
    case 'prefer':
      return preferRest(place);
    default:
      return [];
  }
}

/** A constant cannot stand in its own value. */
function constantsBut(place: Place, own: string): Draft[] {
  return names(place, ['let', 'parameter']).filter((d) => d.label !== own);
}

function statements(block: 'file' | 'rig' | 'part', snippets: boolean): Draft[] {
  const fitting = STATEMENTS.filter((s) => s.where.includes(block));
  const drafts: Draft[] = fitting.map((s) => ({
    label: s.keyword,
    kind: 'keyword',
    detail: s.form,
    documentation: said(s.doc),
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
  if (count === 2) return [word(keyword === 'feed' ? 'into' : 'from', say`the chamber`)];
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
    ? [...operators(), word('responds', say`response of this element`)]
    : operators();
}

/** `in LOW .. HIGH` after the value of a constant. */
function rangeAfter(before: readonly Token[]): Draft[] {
  if (before.some((t) => t.text === 'in')) return [];
  return [word('in', say`the constant may be chosen within a range: \`in 500 ms .. 3 s\``)];
}

function preferRest(place: Place): Draft[] {
  const { before } = place.context;
  if (before.length === 1) return DIRECTION_WORDS.map((w) => word(w, say`the ${w} of a metric is better`));
  if (before.length === 2 && DIRECTION_WORDS.includes(before[1]!.text))
    return metrics().filter((d) => isMeasure(d.label));
  if (before.at(-1)!.text === 'during') return names(place, ['scenario']);
  return before.at(-1)!.text === ')' ? [word('during', say`measure in this scenario`)] : [];
}

function isMeasure(metric: string): boolean {
  return metricNamed(metric)?.kind !== 'state';
}

function requireRest(place: Place): Draft[] {
  const { before } = place.context;
  if (before.length === 1) return metrics();
  const last = before.at(-1)!;
  if (last.text === 'during') return names(place, ['scenario']);
  const compared = before.some((t) => isComparison(t));
  if (!compared && last.text === ')') return afterMetric(before[1]!.text);
  if (compared && expectsOperand(before)) return names(place, ['let'], firstDimension(before[1]?.text));
  return [word('during', say`measure in this scenario`)];
}

function firstDimension(metric: string | undefined): string | undefined {
  const found = metric === undefined ? undefined : metricNamed(metric);
  return found && found.kind !== 'state' ? found.dimensions[0] : undefined;
}

function afterMetric(name: string): Draft[] {
  const during = word('during', say`measure in this scenario`);
  if (metricNamed(name)?.kind === 'state') return [during];
  const docs: readonly (readonly [string, string])[] = [
    ['>=', say`at least`],
    ['<=', say`at most`],
    ['in', say`from … to …, both included: \`in 50 ms .. 400 ms\``],
    ['>', say`more than`],
    ['<', say`less than`],
    ['=', say`exactly`],
    ['<>', say`anything but`],
  ];
  return [...docs.map(([label, doc]) => word(label, doc)), during];
}

function metrics(): Draft[] {
  return METRICS.map((m) => ({
    label: m.name,
    kind: 'metric',
    detail: signatureOf(m),
    documentation: said(m.definition),
    snippet: m.parameters.length === 0 ? `${m.name}()$0` : `${m.name}(${metricStops(m.parameters)})$0`,
  }));
}

function metricStops(parameters: readonly { readonly name: string }[]): string {
  return parameters.map((p, i) => `\${${i + 1}:${p.name}}`).join(', ');
}
