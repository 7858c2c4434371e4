/** Suggestions between braces: properties, steps, and the units of their quantities. */
import type { Token } from '../../../grammar/src/ast';
import type { DimensionName, PropertySpec } from '../../../grammar/src/vocabulary';
import { FUNCTIONS, propertiesOf } from '../../../grammar/src/vocabulary';
import { metricNamed } from '../metrics/registry';
import type { ItemKind } from '../model/rig';
import { describe } from '../units/dimensions';
import { UNITS } from '../units/table';
import type { CursorContext } from './completion-context';
import type { Draft, Place } from './completion-draft';
import { names, states, word } from './completion-draft';
import { said, say } from '../words/say';

/** Tokens since the last word that begins a step. */
function step(before: readonly Token[], begins: readonly string[]): readonly Token[] {
  for (let i = before.length - 1; i >= 0; i--) if (begins.includes(before[i]!.text)) return before.slice(i);
  return [];
}

export function inSequence(place: Place): Draft[] {
  const now = step(place.context.before, ['at', 'repeat']);
  const last = now.at(-1)?.text;
  if (now.length === 0)
    return [word('at', say`a step: when, what, which doors`), word('repeat', '`repeat after 16 s`')];
  if (last === 'repeat') return [word('after', say`the interval of repetition`)];
  if (last === 'at' || last === 'after') return names(place, ['let', 'parameter'], 'time');
  if (last === 'open' || last === 'close' || last === ',') return names(place, ['door']);
  const acts = now.some((t) => t.text === 'open' || t.text === 'close');
  return acts || now[0]!.text === 'repeat'
    ? []
    : [word('open', say`starts to open`), word('close', say`starts to close`)];
}

const SCENARIO_TARGETS: ReadonlyMap<string, ItemKind> = new Map([
  ['feed', 'feed'],
  ['draw', 'draw'],
  ['switch', 'switch'],
  ['sensor', 'sensor'],
]);

export function inScenario(place: Place): Draft[] {
  const now = step(place.context.before, ['at', 'for']);
  const last = now.at(-1)?.text ?? '';
  if (now.length === 0)
    return [word('at', say`an operation at this time`), word('for', say`how long the scenario lasts`)];
  if (last === 'at' || last === 'for') return names(place, ['let'], 'time');
  if (now[0]!.text === 'for') return [];
  const action = now.find((t) => SCENARIO_TARGETS.has(t.text) || t.text === 'power');
  if (!action) return [...SCENARIO_TARGETS.keys(), 'power'].map((w) => word(w, say`what is operated`));
  if (action.text === 'power') return last === 'power' ? states() : [];
  if (now.at(-1) === action) return names(place, [SCENARIO_TARGETS.get(action.text)!]);
  return last === 'on' || last === 'off' ? [] : states();
}

export function inProperties(place: Place, specs: readonly PropertySpec[]): Draft[] {
  const { before } = place.context;
  const { spec, after } = currentProperty(before, specs);
  if (!spec) return propertyKeywords(place, specs);
  if (spec.names) {
    const last = after.at(-1);
    return !last || last.text === ',' ? names(place, [spec.names.kind]) : propertyKeywords(place, specs);
  }
  const given = after.find((t) => spec.words.includes(t.text));
  if (spec.words.length > 0 && !given && after.length === 0) {
    const words = spec.words.map((w) => word(w, said(spec.doc)));
    const values = spec.optionalWords ? spec.dimensions.flatMap((d) => names(place, ['let', 'parameter'], d)) : [];
    return [...words, ...values];
  }
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
    .map((s) => ({ label: s.keyword, kind: 'property', detail: propertyForm(s), documentation: said(s.doc) }));
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
  if (spec.names) return `${spec.keyword} ${spec.names.kind}, ${spec.names.kind}`;
  const value = spec.dimensions.map((d) => describe(d).replace(/^an? /, '')).join(' or ');
  return value === '' ? `${spec.keyword}${words}` : `${spec.keyword}${words}: ${value}`;
}

/** The dimensions a number at this place may have; empty where that is not known. */
export function dimensionsExpected(place: Place): readonly string[] {
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
  const spec = currentProperty(before, propertiesOf(block)).spec;
  return spec?.dimensions ?? [];
}

export function units(dimensions: readonly string[]): Draft[] {
  const fitting = dimensions.length === 0 ? UNITS : dimensions.flatMap((d) => UNITS.filter((u) => u.dimension === d));
  return fitting.map((unit) => ({
    label: unit.name,
    kind: 'unit',
    detail: `${said(unit.doc)}, ${describe(unit.dimension as DimensionName)}`,
    documentation: unit.source,
  }));
}
