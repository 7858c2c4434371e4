/** Statements of which a rig has one: controller, medium, air outside and power line. */
import type {
  AtmosphereStatement,
  ControllerStatement,
  MediumStatement,
  SupplyStatement,
} from '../../../grammar/src/ast';
import { type At, type Context, place, type Scope } from './context';
import type { Step } from './declarations';
import { bagOf, quantity, reportRepeated } from './properties';
import type { Rig } from './rig';
import { say } from '../words/say';

/** The first of each counts. */
export interface Singles {
  controller?: { readonly statement: ControllerStatement; readonly scope: Scope };
  medium?: { readonly statement: MediumStatement; readonly scope: Scope };
  atmosphere?: { readonly statement: AtmosphereStatement; readonly scope: Scope };
  supply?: { readonly statement: SupplyStatement; readonly scope: Scope };
}

/** Finds them among the steps of a rig; a second one is reported. */
export function singlesOf(ctx: Context, steps: readonly Step[]): Singles {
  const found: Singles = {};
  for (const { statement, scope } of steps) {
    const { kind } = statement;
    if (kind !== 'controller' && kind !== 'medium' && kind !== 'supply' && kind !== 'atmosphere') continue;
    const first = found[kind];
    if (first !== undefined) {
      reportRepeated(
        { ctx, scope },
        say`The ${kind}`,
        first.statement.keywordSpan,
        statement.keywordSpan,
        statement.span,
      );
    } else Object.assign(found, { [kind]: { statement, scope } });
  }
  return found;
}

export function supplyOf(here: At, statement: SupplyStatement): Rig['supply'] {
  const bag = bagOf(here, 'supply', statement.properties);
  return { limit: quantity(bag, 'limit'), at: place(here.scope, statement.keywordSpan) };
}
