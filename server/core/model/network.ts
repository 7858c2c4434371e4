/**
 * The control network: signals and drives → elements and nets. One element is one call of a standard block, or the operators
 * of one signal or drive outside its calls; inner elements stand before outer ones, as a scan works them.
 */
import type { CallExpression, DriveStatement, Expression, SignalStatement, Span } from '../../../grammar/src/ast';
import { FUNCTIONS, type FunctionSpec } from '../../../grammar/src/vocabulary';
import { DIMENSIONS, dimensionOf } from '../units/dimensions';
import { type Rational, toInteger } from '../units/rational';
import { widenByFraction } from './amounts';
import { type At, type Context, excerpt, markIncomplete, place, report, type Scope } from './context';
import { evaluate } from './evaluate';
import { timeOf } from './quantities';
import { itemOf } from './items';
import { bind, type Found, noteNames } from './names';
import { suggest } from './near-match';
import type { Source } from './problem';
import { PRESET_RANGE, RESPONSE_RANGE } from './ranges';
import { turnedDrive, unswapped } from './swapped';
import type { BlockKind, Drive, Element, ItemKind, Logic, Net, Signal, TimeValue } from './rig';
import { say } from '../words/say';

/** Nets and elements as they come; nets of switches, sensors and signals are there before any element is. */
export interface NetworkBuilder {
  readonly nets: Net[];
  readonly elements: Element[];
}

/** What the controller gives to every element. */
export interface Timing {
  readonly style: 'response' | 'scan';
  /** Zero in scan style. */
  readonly response: TimeValue;
  /** Null in response style. */
  readonly scan: TimeValue | null;
  /** Relative tolerance of presets. */
  readonly accuracy: Rational;
}

/** One signal or drive while its elements are made. */
export interface ElementMaker {
  readonly ctx: Context;
  readonly scope: Scope;
  readonly network: NetworkBuilder;
  readonly timing: Timing;
  /** Name of its outermost element; inner ones are `owner/TON`. */
  readonly owner: string;
  /** Kinds of the blocks used inside so far. */
  readonly inner: BlockKind[];
  /** Indices of the elements made, inner first. */
  readonly made: number[];
}

export function makerFor(here: At, network: NetworkBuilder, timing: Timing, owner: string): ElementMaker {
  const { ctx, scope } = here;
  return { ctx, scope, network, timing, owner, inner: [], made: [] };
}

/** A boolean function over leaves of any kind. */
export type BooleanTree<Leaf> =
  | Leaf
  | { readonly op: 'const'; readonly value: boolean }
  | { readonly op: 'not'; readonly a: BooleanTree<Leaf> }
  | { readonly op: 'and' | 'or' | 'xor'; readonly a: BooleanTree<Leaf>; readonly b: BooleanTree<Leaf> };

/** Reads `not and or xor on off` around leaves; null where something could not be read (reported). */
export function booleanOf<Leaf>(
  here: At,
  expression: Expression,
  leaf: (expression: Expression) => Leaf | null,
): BooleanTree<Leaf> | null {
  switch (expression.kind) {
    case 'state':
      return { op: 'const', value: expression.on };
    case 'reference':
    case 'call':
      return leaf(expression);
    case 'missing':
      return null;
    case 'unary':
      if (expression.operator === 'not') {
        const a = booleanOf(here, expression.operand, leaf);
        return a === null ? null : { op: 'not', a };
      }
      return notBoolean(here, expression);
    case 'binary': {
      const { operator: op } = expression;
      if (op !== 'and' && op !== 'or' && op !== 'xor') return notBoolean(here, expression);
      const a = booleanOf(here, expression.left, leaf);
      const b = booleanOf(here, expression.right, leaf);
      return a === null || b === null ? null : { op, a, b };
    }
    default:
      return notBoolean(here, expression);
  }
}

function notBoolean(here: At, expression: Expression): null {
  const { ctx, scope } = here;
  const written = excerpt(scope, expression.span);
  const message = say`${written} is not on or off; combine signals, switches and sensors with not, and, xor, or.`;
  report(ctx, 'value/not-a-signal', message, place(scope, expression.span));
  noteNames(here, expression);
  return null;
}

const NET_KINDS: readonly ItemKind[] = ['switch', 'sensor', 'signal'];

export function netOf(found: Found | null): number | null {
  return found !== null && 'net' in found.binding ? found.binding.net : null;
}

/** Binds a name to the net of a switch, sensor or signal. */
export function bindNet(here: At, expression: Expression & { kind: 'reference' }): number | null {
  return netOf(bind(here, expression.name, NET_KINDS));
}

export const OFF: Logic = { op: 'const', value: false };

/** Reads an expression as logic, making elements for the calls in it; what cannot be read is off. */
function logicOf(maker: ElementMaker, expression: Expression): Logic {
  const logic = tryLogic(maker, expression);
  if (logic === null) markIncomplete(maker, expression.span);
  return logic ?? OFF;
}

function tryLogic(maker: ElementMaker, expression: Expression): Logic | null {
  return booleanOf(maker, expression, (leaf): { op: 'net'; net: number } | null => {
    const net =
      leaf.kind === 'call' ? innerCall(maker, leaf) : bindNet(maker, leaf as Expression & { kind: 'reference' });
    return net === null ? null : { op: 'net', net };
  });
}

interface ElementParts {
  readonly kind: BlockKind;
  readonly inputs: readonly Logic[];
  readonly preset?: TimeValue | null;
  readonly count?: number | null;
}

/** Adds an element that gives `net`, or a new net of its name. */
export function addElement(
  maker: ElementMaker,
  name: string,
  parts: ElementParts,
  response: TimeValue,
  at: Source,
  net: number | null = null,
): number {
  const { nets, elements } = maker.network;
  const index = elements.length;
  const own = net ?? nets.length;
  nets[own] = { name, kind: 'element', index };
  elements.push({
    name,
    kind: parts.kind,
    inputs: parts.inputs,
    preset: parts.preset ?? null,
    count: parts.count ?? null,
    response,
    net: own,
    at,
  });
  maker.made.push(index);
  return own;
}

function innerCall(maker: ElementMaker, call: CallExpression): number | null {
  const parts = blockOf(maker, call);
  if (parts === null) return null;
  maker.inner.push(parts.kind);
  const nth = maker.inner.filter((kind) => kind === parts.kind).length;
  const name = `${maker.owner}/${parts.kind}${nth > 1 ? `#${nth}` : ''}`;
  return addElement(maker, name, parts, maker.timing.response, place(maker.scope, call.span));
}

const BLOCKS = new Map(FUNCTIONS.map((spec) => [spec.name, spec]));

function blockSpec(maker: ElementMaker, call: CallExpression): FunctionSpec | null {
  const { ctx, scope } = maker;
  const name = call.callee.text;
  if (name === '') return null;
  const known = BLOCKS.get(name);
  if (known === undefined) {
    const at = place(scope, call.callee.span);
    const { question, fixes } = suggest(name, BLOCKS.keys(), at);
    report(ctx, 'name/unknown', say`${name} is not a timer, edge, latch or counter.${question}`, at, { fixes });
    return null;
  }
  if (call.args.length === known.inputs.length) return known;
  // An argument that is missing in the text has its problem already.
  if (!call.args.some((arg) => arg.kind === 'missing')) {
    const [count, inputs, given] = [known.inputs.length, known.inputs.join(', '), call.args.length];
    const message =
      count === 1
        ? say`${name} takes 1 input (${inputs}), not ${given}.`
        : say`${name} takes ${count} inputs (${inputs}), not ${given}.`;
    report(ctx, 'value/arguments', message, place(scope, call.argsSpan));
  }
  return null;
}

/** Reads a call as a block; null where it is none (its arguments are read all the same, for their names and problems). */
function blockOf(maker: ElementMaker, call: CallExpression): ElementParts | null {
  const spec = blockSpec(maker, call);
  if (spec === null) {
    for (const arg of call.args) noteNames(maker, arg);
    return null;
  }
  const inputs: Logic[] = [];
  let preset: TimeValue | null = null;
  let count: number | null = null;
  let complete = true;
  const args = unswapped(maker, call, spec) ?? call.args;
  spec.inputs.forEach((input, i) => {
    const arg = args[i]!;
    if (input === 'PT') complete = (preset = presetOf(maker, arg)) !== null && complete;
    else if (input === 'PV') complete = (count = countOf(maker, arg)) !== null && complete;
    else {
      const logic = tryLogic(maker, arg);
      complete = logic !== null && complete;
      inputs.push(logic ?? OFF);
    }
  });
  return complete ? { kind: spec.name as BlockKind, inputs, preset, count } : null;
}

/** A network to throw away: for texts that are read for their problems only. */
export function scratchOf(network: NetworkBuilder): NetworkBuilder {
  return { nets: network.nets.slice(0, 0), elements: [] };
}

function presetOf(maker: ElementMaker, expression: Expression): TimeValue | null {
  const { accuracy } = maker.timing;
  return timeOf(maker, expression, PRESET_RANGE, (amount) => widenByFraction(amount, accuracy));
}

function countOf(maker: ElementMaker, expression: Expression): number | null {
  const { ctx, scope } = maker;
  const amount = evaluate(maker, expression);
  if (amount === null) return null;
  const at = place(scope, expression.span);
  const whole = dimensionOf(amount.vector) === 'none' ? toInteger(amount.nominal) : null;
  if (whole !== null && whole >= 0n && whole <= 1_000_000_000n && !amount.percent) return Number(whole);
  const code = amount.vector.some((exponent, i) => exponent !== DIMENSIONS.none.vector[i])
    ? 'unit/dimension'
    : 'value/out-of-range';
  report(ctx, code, say`A count is a whole number from 0 on without unit, not ${excerpt(scope, expression.span)}.`, at);
  return null;
}

/** The outermost element of a signal or drive: the block where the expression is a call, otherwise its operators. */
function outermost(maker: ElementMaker, expression: Expression, response: TimeValue, net: number | null): number {
  const at = place(maker.scope, expression.span);
  const block = expression.kind === 'call' ? blockOf(maker, expression) : null;
  if (expression.kind === 'call' && block === null) markIncomplete(maker, expression.span);
  const parts: ElementParts = block ?? {
    kind: 'LOGIC',
    inputs: [expression.kind === 'call' ? OFF : logicOf(maker, expression)],
  };
  return addElement(maker, maker.owner, parts, response, at, net);
}

function ownResponse(maker: ElementMaker, expression: Expression | null, keyword: Span): TimeValue {
  if (expression === null) return maker.timing.response;
  const own = timeOf(maker, expression, RESPONSE_RANGE);
  if (own === null) markIncomplete(maker, expression.span);
  if (maker.timing.style === 'scan') {
    const message = say`A scanned controller writes all signals once per scan; this response changes nothing.`;
    report(maker.ctx, 'value/no-effect', message, place(maker.scope, keyword));
    return maker.timing.response;
  }
  return own ?? maker.timing.response;
}

/** Makes the elements of a signal; the last one gives `net`. */
export function compileSignal(maker: ElementMaker, statement: SignalStatement, net: number | null): Signal {
  const response = ownResponse(maker, statement.responds, statement.responds?.span ?? statement.span);
  const own = outermost(maker, statement.value, response, net);
  const { name, at, whole, doc } = itemOf(maker.scope, statement.name, statement);
  return { name, at, whole, doc, net: own, elements: maker.made };
}

const DRIVEN: readonly ItemKind[] = ['door', 'feed', 'draw'];

/**
 * Reads a drive. A name drives with its own net; anything more is an element of its own, named `drive DOOR`, with the controller's
 * response. So is the name of a switch or sensor in scan style: it is read, and the output written, at scans only. Null where its target is unknown (its expression is read all the same).
 */
export function compileDrive(maker: ElementMaker, statement: DriveStatement): Drive | null {
  const { scope } = maker;
  if (turnedDrive(maker, statement, DRIVEN)) return null;
  const target = bind(maker, statement.target, DRIVEN, 'write')?.binding ?? null;
  const net = drivingNet(maker, statement.value);
  if (target === null || net === null) {
    markIncomplete(maker, statement.span);
    return null;
  }
  if (target.kind !== 'door' && target.kind !== 'feed' && target.kind !== 'draw') return null;
  if (target.index < 0) return null;
  return {
    kind: target.kind,
    target: target.index,
    net,
    at: place(scope, statement.target.span),
    whole: place(scope, statement.span),
  };
}

function drivingNet(maker: ElementMaker, value: Expression): number | null {
  const { scope, timing, network } = maker;
  if (value.kind === 'missing') return null;
  if (value.kind !== 'reference') return outermost(maker, value, timing.response, null);
  const net = bindNet(maker, value);
  if (net === null || timing.scan === null || network.nets[net]?.kind === 'element') return net;
  const parts: ElementParts = { kind: 'LOGIC', inputs: [{ op: 'net', net }] };
  return addElement(maker, maker.owner, parts, timing.response, place(scope, value.span));
}
