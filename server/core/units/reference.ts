/** The table of units for REFERENCE.md, as Markdown. */
import { describe, DIMENSION_NAMES, DIMENSIONS, type DimensionName } from './dimensions';
import { type Unit } from './table';
import { unitsOf } from './units';

function factorText(unit: Unit): string {
  const base = unit.dimension === 'time' ? 's' : DIMENSIONS[unit.dimension].base;
  const factor = unit.factor.replace('/', ' / ');
  const value = base === '1' ? factor : `${factor} ${base}`;
  return unit.offset === undefined ? value : `${value}, counted from ${unit.offset} ${base}`;
}

function row(unit: Unit): string {
  const names = [unit.name, ...(unit.aliases ?? [])].map((name) => `\`${name}\``).join(', ');
  return `| ${names} | ${unit.doc} | ${factorText(unit)} | ${unit.source} |`;
}

const titleOf = (dimension: DimensionName): string => describe(dimension).replace(/^an? /, '');

/** Headings by dimension, one row per unit. */
export function unitsReference(): string {
  const sections = DIMENSION_NAMES.map((dimension) => {
    const rows = unitsOf(dimension).map(row);
    const title = titleOf(dimension);
    return [
      `### ${title[0]!.toUpperCase()}${title.slice(1)}`,
      '',
      '| unit | name | is exactly | source of the factor |',
      '| --- | --- | --- | --- |',
      ...rows,
    ].join('\n');
  });
  return `${sections.join('\n\n')}\n`;
}
