/**
 * The atmosphere: a chamber that needs no statement and never ends. It joins the rig's chambers, behind all others, once something
 * names it; a chamber of the text with this name hides it.
 */
import { say } from '../words/say';
import { type AtmospherePlace, type Binding, type Context, place } from './context';
import type { Source } from './problem';

export const ATMOSPHERE_NAME = 'atmosphere';

export function atmospherePlace(index: number, statement: AtmospherePlace['statement'], rig: Source): AtmospherePlace {
  const source = statement === null ? rig : place(statement.scope, statement.statement.keywordSpan);
  return { index, statement, at: { ...source, end: source.start }, binding: null };
}

/** What the name `atmosphere` stands for; null outside rigs. */
export function atmosphereBinding(ctx: Context): Binding | null {
  const here = ctx.atmosphere;
  if (here === null) return null;
  here.binding ??= declareAtmosphere(ctx, here);
  return here.binding;
}

function declareAtmosphere(ctx: Context, { index, at, statement }: AtmospherePlace): Binding {
  const declaration = ctx.declarations.length;
  const whole = statement === null ? at : place(statement.scope, statement.statement.span);
  ctx.declarations.push({
    id: declaration,
    kind: 'chamber',
    name: ATMOSPHERE_NAME,
    at,
    whole,
    doc: statement?.statement.documentation ?? say`the air outside, endless, at 1.01325 bar where not stated otherwise`,
    container: -1,
    detail: ATMOSPHERE_NAME,
  });
  return { kind: 'chamber', declaration, index, name: ATMOSPHERE_NAME };
}
