/**
 * The literals of the text that a time is made of: those of the expression itself, then those of the constants and arguments that it
 * names. Which of them move an edge is measured, not read.
 */
import { parse, parseExpression } from '../../../../grammar/src/api';
import type { Expression, Statement } from '../../../../grammar/src/ast';
import type { Source } from '../../model/problem';
import type { Resolution } from '../../model/resolution';
import { parseTime } from '../../units/units';
import type { ReadText } from '../document';

export interface Literal {
  /** From the first digit to the end of the unit. */
  readonly at: Source;
  readonly text: string;
  /** Microseconds. */
  readonly value: number;
  /** Name of the constant that it is written in; null where it stands in the expression itself. */
  readonly constant: string | null;
}

export interface LiteralNeeds {
  readonly resolution: Resolution;
  readonly textOf: ReadText;
}

const DEEPEST = 12;

/** Literals of times behind an expression, the nearest first, each once. */
export function literalsBehind(needs: LiteralNeeds, at: Source): Literal[] {
  const found: Literal[] = [];
  let layer: readonly Place[] = [{ at, constant: null }];
  const seen = new Set<string>();
  for (let depth = 0; depth < DEEPEST && layer.length > 0; depth++) {
    const next: Place[] = [];
    for (const place of layer) {
      const key = `${place.at.uri} ${place.at.start}`;
      if (seen.has(key)) continue;
      seen.add(key);
      const { literals, references } = partsOf(needs, place);
      for (const literal of literals) if (!found.some((f) => f.at.start === literal.at.start)) found.push(literal);
      next.push(...references.flatMap((reference) => declaredAt(needs, reference)));
    }
    layer = next;
  }
  return found;
}

interface Place {
  readonly at: Source;
  readonly constant: string | null;
}

function partsOf({ textOf }: LiteralNeeds, { at, constant }: Place): { literals: Literal[]; references: Source[] } {
  const text = textOf(at.uri)?.slice(at.start, at.end) ?? '';
  const literals: Literal[] = [];
  const references: Source[] = [];
  const walk = (e: Expression): void => {
    if (e.kind === 'unary') return walk(e.operand);
    if (e.kind === 'reference') return void references.push(moved(e.span, at));
    if (e.kind === 'quantity') {
      const end = e.unit?.span.end ?? e.numberSpan.end;
      const written = text.slice(e.numberSpan.start, end);
      const value = e.unit ? parseTime(written) : null;
      if (value !== null)
        literals.push({ at: moved({ start: e.numberSpan.start, end }, at), text: written, value, constant });
      return;
    }
    if (e.kind !== 'binary') return;
    walk(e.left);
    if (e.operator !== '+-') walk(e.right);
  };
  walk(parseExpression(text).expression);
  return { literals, references };
}

const moved = (span: { readonly start: number; readonly end: number }, base: Source): Source => ({
  uri: base.uri,
  start: base.start + span.start,
  end: base.start + span.end,
});

/** Where the value of a name is written: the value of a `let`; for a parameter, the arguments of all places of its part. */
function declaredAt(needs: LiteralNeeds, at: Source): Place[] {
  const { uses, declarations } = needs.resolution;
  const ids = uses.filter((u) => u.at.uri === at.uri && u.at.start === at.start).map((u) => u.declaration);
  return [...new Set(ids)].flatMap((id) => {
    const declaration = declarations.find((d) => d.id === id);
    if (!declaration) return [];
    if (declaration.kind === 'let') return letValue(needs, declaration.whole, declaration.name);
    return declaration.kind === 'parameter' ? argumentsFor(needs, declaration) : [];
  });
}

function statementAt({ textOf }: LiteralNeeds, whole: Source): Statement | undefined {
  return parse(textOf(whole.uri)?.slice(whole.start, whole.end) ?? '').tree.statements[0];
}

function letValue(needs: LiteralNeeds, whole: Source, constant: string): Place[] {
  const statement = statementAt(needs, whole);
  return statement?.kind === 'let' ? [{ at: moved(statement.value.span, whole), constant }] : [];
}

function argumentsFor(needs: LiteralNeeds, parameter: Resolution['declarations'][number]): Place[] {
  const { declarations } = needs.resolution;
  const part = declarations.find((d) => d.kind === 'part' && d.id === parameter.container) ?? null;
  const partStatement = part && statementAt(needs, part.whole);
  if (!part || partStatement?.kind !== 'part') return [];
  const index = partStatement.parameters.findIndex((p) => p.text === parameter.name);
  return declarations
    .filter((d) => d.kind === 'place')
    .flatMap((d) => {
      const place = statementAt(needs, d.whole);
      const argument = place?.kind === 'place' && place.part.text === part.name ? place.args[index] : undefined;
      return argument ? [{ at: moved(argument.span, d.whole), constant: null }] : [];
    });
}
