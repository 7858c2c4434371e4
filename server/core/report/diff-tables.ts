/** What differs between two rigs, as tables. */
import { say } from '../words/say';
import { DIFF_GROUPS, type DiffGroup, type RigDiff } from './diff';
import type { PageTable } from './page/page';

const CAPTIONS: Record<DiffGroup, () => string> = {
  renamed: () => say`Renamed`,
  times: () => say`Times`,
  flow: () => say`Flow`,
  requirements: () => say`Requirements`,
  settings: () => say`Settings`,
  parts: () => say`Parts`,
  connections: () => say`Connections`,
  findings: () => say`Findings`,
};

/** A table for each group in which anything differs. */
export function diffTables({ rows }: RigDiff): PageTable[] {
  return DIFF_GROUPS.flatMap((group): PageTable[] => {
    const found = rows.filter((row) => row.group === group);
    if (found.length === 0) return [];
    const changes = found.some((row) => row.change !== '');
    return [
      {
        kind: 'table',
        caption: CAPTIONS[group](),
        columns: [say`what`, say`before`, say`now`, ...(changes ? [say`change`] : [])],
        rows: found.map((row) => [
          row.what,
          row.old ?? say`none`,
          row.now ?? say`none`,
          ...(changes ? [row.change] : []),
        ]),
        numeric: changes ? [3] : [],
      },
    ];
  });
}
