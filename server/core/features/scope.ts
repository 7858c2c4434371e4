/** Which names can be used at a place of the text. Needs the resolved phase. */
import type { Statement } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import type { Declaration } from '../model/resolution';
import type { Item, ItemKind, Rig } from '../model/rig';
import { unitNamed } from '../units/units';
import { rigAt } from './lookup';

/** A usable name; `declaration` is null for items of placed parts. */
export interface Visible {
  readonly name: string;
  readonly kind: ItemKind;
  readonly detail: string;
  readonly doc: string;
}

/** Names of these kinds that can be used at `offset`, nearest scope first, items of placed parts (dotted) last. */
export function visibleNames(document: RigDocument, offset: number, kinds: readonly ItemKind[]): Visible[] {
  const found = new Map<string, Visible>();
  const scopes = scopesAt(document, offset);
  for (const scope of scopes) {
    for (const d of document.resolved().declarations) {
      if (d.container !== scope || !kinds.includes(d.kind) || d.name === '' || found.has(d.name)) continue;
      found.set(d.name, { name: d.name, kind: d.kind, detail: d.detail, doc: d.doc });
    }
  }
  const rig = document.resolved().rigs[rigAt(document, offset)];
  if (rig) {
    for (const { item, kind } of dottedItems(rig)) {
      if (kinds.includes(kind)) found.set(item.name, { name: item.name, kind, detail: kind, doc: item.doc });
    }
  }
  return [...found.values()];
}

/** Ids of the scopes around `offset`, innermost first, the file last. */
function scopesAt(document: RigDocument, offset: number): number[] {
  const around = document
    .resolved()
    .declarations.filter((d) => (d.kind === 'rig' || d.kind === 'part') && contains(document, d, offset))
    .sort((a, b) => b.whole.start - a.whole.start);
  return [...around.map((d) => d.id), -1];
}

function contains(document: RigDocument, { whole }: Declaration, offset: number): boolean {
  return whole.uri === document.uri && offset > whole.start && offset <= whole.end;
}

function dottedItems(rig: Rig): { item: Item; kind: ItemKind }[] {
  const lists: readonly (readonly [ItemKind, readonly Item[]])[] = [
    ['door', rig.doors],
    ['signal', rig.signals],
    ['chamber', rig.chambers],
    ['switch', rig.switches],
    ['sensor', rig.sensors],
    ['feed', rig.lines.filter((l) => l.kind === 'feed')],
    ['draw', rig.lines.filter((l) => l.kind === 'draw')],
  ];
  return lists.flatMap(([kind, items]) => items.filter((i) => i.name.includes('.')).map((item) => ({ item, kind })));
}

/** The dimension of a `let` where its value ends in a quantity that tells it; null where that cannot be seen. */
export function dimensionOfLet(document: RigDocument, name: string): string | null {
  const statement = findLet(document.parsed().tree.statements, name);
  const value = statement?.kind === 'let' ? statement.value : null;
  if (value?.kind !== 'quantity') return null;
  return value.unit ? (unitNamed(value.unit.text)?.dimension ?? null) : 'none';
}

function findLet(statements: readonly Statement[], name: string): Statement | undefined {
  for (const s of statements) {
    if (s.kind === 'let' && s.name.text === name) return s;
    const inside = s.kind === 'rig' || s.kind === 'part' ? findLet(s.body, name) : undefined;
    if (inside) return inside;
  }
  return undefined;
}
