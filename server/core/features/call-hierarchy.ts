/**
 * Cause and effect as a call hierarchy: incoming are the items a signal or door listens to, outgoing are those that listen
 * to it. Works on statements and uses, so it answers for rigs that cannot be timed. Needs the resolved phase.
 */
import type { RigDocument } from '../document/document';
import type { Statement } from '../../../grammar/src/ast';
import type { Source } from '../model/problem';
import type { Declaration, Resolution } from '../model/resolution';
import type { ItemKind } from '../model/rig';
import { occurrenceAt, occurrencesByStart, occurrencesIn } from './symbol-at';

export interface HierarchyItem {
  readonly name: string;
  readonly kind: ItemKind;
  readonly detail: string;
  readonly at: Source;
  readonly whole: Source;
}

/** A neighbour in the chain with the places of the text that make the connection. */
export interface HierarchyCall {
  readonly item: HierarchyItem;
  readonly places: readonly Source[];
}

const LINKED: readonly ItemKind[] = ['switch', 'sensor', 'signal', 'door', 'feed', 'draw', 'sequence'];

/** The item at `offset` whose causes and effects can be asked for, or null. */
export function prepareHierarchy(document: RigDocument, offset: number): HierarchyItem | null {
  const occurrence = occurrenceAt(document, offset);
  if (!occurrence || !LINKED.includes(occurrence.declaration.kind)) return null;
  return toItem(occurrence.declaration);
}

/** What makes the item declared at `at` change. */
export function causesOf(document: RigDocument, at: Source): HierarchyCall[] {
  const links = linksOf(document).filter((l) => isAt(l.effect, at));
  return grouped(links.map((l) => ({ declaration: l.cause, place: l.place })));
}

/** What changes because of the item declared at `at`. */
export function effectsOf(document: RigDocument, at: Source): HierarchyCall[] {
  const links = linksOf(document).filter((l) => isAt(l.cause, at));
  return grouped(links.map((l) => ({ declaration: l.effect, place: l.place })));
}

interface Link {
  readonly cause: Declaration;
  readonly effect: Declaration;
  readonly place: Source;
}

/** Every connection the statements of this file make. */
function linksOf(document: RigDocument): Link[] {
  const resolution = document.resolved();
  const links: Link[] = [];
  for (const statement of flatten(document.parsed().tree.statements)) {
    for (const effect of effectsIn(statement, resolution)) {
      for (const { at, role, declaration } of occurrencesIn(resolution, statement.span)) {
        if (role === 'read' && LINKED.includes(declaration.kind)) links.push({ cause: declaration, effect, place: at });
      }
    }
  }
  return links;
}

function flatten(statements: readonly Statement[]): Statement[] {
  return statements.flatMap((s) => (s.kind === 'rig' || s.kind === 'part' ? flatten(s.body) : [s]));
}

/** What a statement gives a value to: a signal, the target of a drive, the doors a sequence moves. */
function effectsIn(statement: Statement, resolution: Resolution): Declaration[] {
  const at = (offset: number): Declaration[] => {
    const found = occurrencesByStart(resolution).get(offset);
    return found ? [found.declaration] : [];
  };
  switch (statement.kind) {
    case 'signal':
      return at(statement.name.span.start);
    case 'drive':
      return at(statement.target.span.start);
    case 'sequence':
      return unique(statement.steps.flatMap((s) => s.doors).flatMap((d) => at(d.span.start)));
    default:
      return [];
  }
}

function unique(declarations: readonly Declaration[]): Declaration[] {
  return [...new Map(declarations.map((d) => [d.id, d])).values()];
}

function isAt(declaration: Declaration, at: Source): boolean {
  return declaration.at.uri === at.uri && declaration.at.start === at.start;
}

function grouped(found: readonly { declaration: Declaration; place: Source }[]): HierarchyCall[] {
  const calls = new Map<number, { item: HierarchyItem; places: Source[] }>();
  for (const { declaration, place } of found) {
    const call = calls.get(declaration.id) ?? { item: toItem(declaration), places: [] };
    call.places.push(place);
    calls.set(declaration.id, call);
  }
  return [...calls.values()];
}

function toItem(declaration: Declaration): HierarchyItem {
  const { name, kind, detail, at, whole } = declaration;
  return { name, kind, detail, at, whole };
}
