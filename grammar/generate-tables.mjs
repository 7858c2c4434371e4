/** The tables of REFERENCE.md that follow from the vocabulary. Pure functions: tables by the name of their markers. */

const row = (cells) => `| ${cells.join(' | ')} |`;
const table = (head, rows) => [row(head), row(head.map(() => '---')), ...rows.map(row)].join('\n');
const code = (text) => '`' + text.replaceAll('|', '\\|') + '`';
const PLACES = { file: 'outside rigs', rig: 'in a rig', part: 'in a part' };

function valueOf(spec, sample) {
  if (spec.dimensions.length === 0) return '';
  return spec.dimensions
    .map((d) => (d === 'none' ? `a number (${code(sample[d])})` : `${d.replaceAll('_', ' ')} (${code(sample[d])})`))
    .join(', ');
}

function propertyTable(specs, sample) {
  const rows = specs.map((p) => [
    code(p.keyword),
    p.words.map(code).join(', '),
    valueOf(p, sample),
    p.doc + (p.repeatable ? '; may stand more than once' : ''),
  ]);
  return table(['property', 'words', 'value', 'meaning'], rows);
}

/** Marker name → table. */
export function referenceTables(vocabulary) {
  const { STATEMENTS, PROPERTIES, FUNCTIONS, EVENT_WORDS, RESERVED_WORDS, SAMPLE_QUANTITY } = vocabulary;
  const tables = {
    statements: table(
      ['statement', 'where', 'meaning'],
      STATEMENTS.map((s) => [code(s.form), s.where.map((w) => PLACES[w]).join(', '), s.doc]),
    ),
    functions: table(
      ['call', 'meaning'],
      FUNCTIONS.map((f) => [code(`${f.name}(${f.inputs.join(', ')})`), f.doc]),
    ),
    events: EVENT_WORDS.map(code).join(', '),
    reserved: RESERVED_WORDS.map(code).join(', '),
  };
  for (const [keyword, specs] of Object.entries(PROPERTIES)) {
    tables[`properties ${keyword}`] = propertyTable(specs, SAMPLE_QUANTITY);
  }
  return tables;
}
