/** Rows of a difference that several triggers have alike, joined into one. */
import { sinceTriggers, type Started } from '../timing/alike';
import type { DiffRow } from './diff';

/** A row as it is compared: of what a trigger starts, `since` says after which; null speaks for all that are like it. */
export interface ComparedRow extends DiffRow {
  readonly since?: Started | null;
}

/** What differs alike after several triggers is one row; the first stroke of a flow goes without a trigger and speaks for those like it. */
export function joinedByTrigger(rows: readonly ComparedRow[]): DiffRow[] {
  const joined = new Map<string, { readonly row: ComparedRow; readonly since: (Started | null)[] }>();
  for (const row of rows) {
    const { group, what, old, now, since } = row;
    const key = JSON.stringify([group, what, old, now, since === undefined]);
    const known = joined.get(key);
    if (known === undefined) joined.set(key, { row, since: since === undefined ? [] : [since] });
    else if (since !== undefined) known.since.push(since);
  }
  return [...joined.values()].map(({ row: { since: _, ...row }, since }) => {
    const named = since.filter((started) => started !== null);
    return named.length === 0 || named.length < since.length
      ? row
      : { ...row, what: `${row.what} ${sinceTriggers(named)}` };
  });
}
