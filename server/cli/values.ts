/** Requirements with value and slack as rows that every report format prints. Times in seconds, everything else in SI units. */
import { requirementValues, valueText, type RequirementValue } from '../core/metrics/requirement-value';
import type { Rig } from '../core/model/rig';
import { textTable } from '../core/report/text-table';
import type { Input } from './inputs';
import { lineIndex, type LinePlace } from './lines';

export interface ValueRow {
  readonly path: string;
  readonly rig: string;
  readonly start: LinePlace;
  readonly value: RequirementValue;
}

/** Every requirement of the inputs that stands in its own file, in order. A rig with mistakes in its control has none. */
export function valueRows(inputs: readonly Input[]): ValueRow[] {
  return inputs.flatMap(({ document, path }) => {
    const placeOf = lineIndex(document.text);
    return document.resolved().rigs.flatMap((rig, index) => {
      if (isIncomplete(rig) || rig.requirements.length === 0) return [];
      return requirementValues(document.factsOf(index)).map((value) => ({
        path,
        rig: rig.name,
        start: value.requirement.at.uri === document.uri ? placeOf(value.requirement.at.start) : placeOf(rig.at.start),
        value,
      }));
    });
  });
}

const isIncomplete = (rig: Rig): boolean => (rig.incomplete?.length ?? 0) > 0;

/** Seconds for times, SI otherwise; null where there is none or it has no end. */
function si(amount: number | null, dimension: string | null): number | null {
  if (amount === null || !Number.isFinite(amount)) return null;
  return dimension === 'time' ? amount / 1e6 : amount;
}

/** One requirement as plain data: the shape is in REFERENCE.md. */
export function valueJson({ path, rig, start, value }: ValueRow): object {
  const { dimension, worst, requirement, verdict } = value;
  return {
    path,
    rig,
    start,
    text: requirement.text,
    state: verdict.state,
    dimension,
    value: si(value.value, dimension),
    slack: si(value.slack, dimension),
    withinTolerance: worst && {
      state: worst.state,
      range: worst.min === null ? null : [si(worst.min, dimension), si(worst.max, dimension)],
      slack: si(worst.slack, dimension),
    },
    words: valueText(value),
  };
}

/** The same as flat properties, for formats that carry name and value. */
export function valueProperties(row: ValueRow): Record<string, string | number> {
  const { value } = row;
  const { dimension, worst } = value;
  const all: Record<string, string | number | null> = {
    'caisson.state': value.verdict.state,
    'caisson.value': si(value.value, dimension),
    'caisson.slack': si(value.slack, dimension),
    'caisson.dimension': value.value === null ? null : dimension,
    'caisson.withinTolerance': worst?.state ?? null,
    'caisson.worstSlack': si(worst?.slack ?? null, dimension),
  };
  return Object.fromEntries(Object.entries(all).filter((e): e is [string, string | number] => e[1] !== null));
}

/** The list of `check --values`, one table a file. */
export function renderValues(rows: readonly ValueRow[]): string {
  const paths = [...new Set(rows.map((r) => r.path))];
  return paths
    .map((path) =>
      valuesOf(
        path,
        rows.filter((r) => r.path === path),
      ),
    )
    .join('');
}

function valuesOf(path: string, rows: readonly ValueRow[]): string {
  const cells = rows.map(({ start, value }) => [
    `${start.line}`,
    value.verdict.state === 'met' ? 'holds' : value.verdict.state === 'failed' ? 'FAILS' : 'open',
    value.requirement.text,
    valueText(value),
  ]);
  return (
    [
      `${path}`,
      ...textTable([['line', '', 'requirement', 'found'], ...cells], ['right', 'left', 'left', 'left']),
      '',
    ].join('\n') + '\n'
  );
}
