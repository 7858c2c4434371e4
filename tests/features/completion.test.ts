/** What is offered at places of whole and half-written texts. */
import { describe, expect, it } from 'vitest';
import { STATEMENTS, PROPERTIES } from '../../grammar/src/vocabulary';
import { suggestionsAt } from '../../server/core/features/completion';
import { MORE_SNIPPETS, STATEMENT_SNIPPETS } from '../../server/core/features/snippets';
import { atCursor, documentOf, LIFT } from './support';

/** Labels offered where `line` stands as the last line of the grain lift. */
function offered(line: string, options: { afterBlank?: boolean; snippets?: boolean } = {}): string[] {
  const { document, offset } = atCursor(LIFT.replace(/\}\n$/, `  ${line}\n}\n`));
  const { afterBlank = false, snippets = false } = options;
  return suggestionsAt(document, offset, { snippets, importable: [], afterBlank }).map((s) => s.label);
}

describe('completion of statements', () => {
  it('offers what may stand in a rig, and only that', () => {
    const labels = offered('<|>');
    expect(labels).toEqual(STATEMENTS.filter((s) => s.where.includes('rig')).map((s) => s.keyword));
  });

  it('offers nothing where anything could begin and a blank was typed', () => {
    expect(offered(' <|>', { afterBlank: true })).toEqual([]);
  });

  it('offers what may stand outside rigs', () => {
    const { document, offset } = atCursor(`<|>\n${LIFT}`);
    const labels = suggestionsAt(document, offset, { snippets: false, importable: [], afterBlank: false }).map(
      (s) => s.label,
    );
    expect(labels).toEqual(['import', 'rig', 'part', 'let', 'medium']);
  });

  it.each([
    ['drive <|>', ['inlet', 'outlet']],
    ['drive in<|>', ['inlet', 'outlet']],
    ['drive inlet <|>', []],
    ['sensor low <|>', ['on']],
    ['sensor low on <|>', ['hopper', 'bin']],
    ['feed blower <|>', ['into']],
    ['feed blower into <|>', ['hopper', 'bin']],
    ['draw burner from <|>', ['hopper', 'bin']],
    ['switch manual = <|>', ['on', 'off']],
    ['medium dust <|>', ['gas', 'liquid', 'packed']],
    ['stack <|>', ['hopper', 'bin']],
    ['stack hopper > inlet > <|>', ['outlet', 'bin']],
    ['sequence s on <|>', ['start', 'inlet_on', 'outlet_on', 'hold', 'full', 'run']],
    ['signal x = start <|>', ['and', 'or', 'xor', 'responds']],
    ['signal x = TON(<|>', ['run', 'full', 'start']],
    ['signal x = TON(start, <|>', ['dwell']],
    ['signal x = TON(start and (run or <|>', ['run', 'full', 'start']],
    ['let y = 2 * <|>', ['dwell']],
    ['require repeat() <|>', ['>=', '<=', 'in', '>', '<', '=', '<>', 'during']],
    ['require repeat() >= <|>', ['dwell']],
    ['require order(<|>', ['inlet', 'outlet']],
    ['require order(inlet <|>', ['opens', 'opened', 'closes', 'shuts']],
    ['require order(inlet opens, outlet <|>', ['opens', 'opened', 'closes', 'shuts']],
    ['require gap(inlet, <|>', ['inlet', 'outlet']],
  ])('%s', (line, expected) => {
    const labels = offered(line);
    if (line.includes('TON(') && !line.endsWith(', <|>')) expect(labels).toEqual(expect.arrayContaining(expected));
    else expect([...labels].sort()).toEqual([...expected].sort());
  });

  it('offers signals, function blocks and negation as operands', () => {
    const labels = offered('signal x = <|>');
    expect(labels).toEqual(expect.arrayContaining(['start', 'full', 'run', 'TON', 'TOF', 'CTU', 'not', 'on', 'off']));
    expect(labels).not.toContain('hopper');
  });

  it('offers metrics after require', () => {
    const labels = offered('require <|>');
    expect(labels).toEqual(expect.arrayContaining(['overlap', 'gap', 'order', 'repeat', 'never', 'time_to']));
  });

  it('puts doors without a drive before those that have one', () => {
    const { document, offset } = atCursor(LIFT.replace('drive outlet = outlet_on', 'drive <|>'));
    const labels = suggestionsAt(document, offset, { snippets: false, importable: [], afterBlank: false }).map(
      (s) => s.label,
    );
    expect(labels).toEqual(['outlet', 'inlet']);
  });
});

describe('completion of quantities', () => {
  it.each([
    ['signal x = TON(start, 5 <|>', ['s', 'ms', 'us', 'min', 'h', 'd']],
    ['signal x = TON(start, 5<|>', null],
    ['door flap { travel 300 <|>', ['s', 'ms', 'us', 'min', 'h', 'd']],
    ['controller { response 5 <|>', ['s', 'ms', 'us', 'min', 'h', 'd']],
  ])('%s', (line, expected) => {
    if (expected) expect(offered(line)).toEqual(expected);
    else expect(offered(line)).not.toContain('inlet');
  });

  it('offers units of pressure where a pressure is wanted', () => {
    expect(offered('chamber x { pressure 1.5 <|>')).toEqual(expect.arrayContaining(['bar', 'kPa', 'barg']));
    expect(offered('chamber x { pressure 1.5 <|>')).not.toContain('s');
  });

  it('offers constants of the wanted dimension only', () => {
    expect(offered('door flap { travel <|>')).toEqual(['dwell']);
    expect(offered('door flap { pocket <|>')).toEqual([]);
  });
});

describe('completion in braces', () => {
  it('offers properties not yet used', () => {
    expect(offered('door flap { pocket 10 L  <|>')).toEqual(
      PROPERTIES['door']!.map((p) => p.keyword).filter((k) => k !== 'pocket'),
    );
  });

  it('offers the words of a property, then its value', () => {
    expect(offered('door flap { rest <|>')).toEqual(['open', 'closed']);
    expect(offered('sensor s on bin { pressure <|>')).toEqual(['above', 'below']);
    expect(offered('door flap { power moving 3 <|>')).toEqual(expect.arrayContaining(['W', 'kW']));
  });

  it('offers steps of scenarios and what they operate', () => {
    expect(offered('scenario m {\n  <|>\n  }')).toEqual(['at', 'for']);
    expect(offered('scenario m {\n  at 1 s <|>\n  }')).toEqual(['feed', 'draw', 'switch', 'sensor', 'power']);
    expect(offered('scenario m {\n  at 1 s switch <|>\n  }')).toEqual(['run']);
    expect(offered('scenario m {\n  at 1 s switch run <|>\n  }')).toEqual(['on', 'off']);
    expect(offered('scenario m {\n  at 1 <|>\n  }')).toContain('min');
  });

  it('offers steps of sequences and doors', () => {
    expect(offered('sequence q on start {\n  at 1 s <|>\n  }')).toEqual(['open', 'close']);
    expect(offered('sequence q on start {\n  at 1 s open <|>\n  }')).toEqual(['inlet', 'outlet']);
    expect(offered('sequence q on start {\n  repeat <|>\n  }')).toEqual(['after']);
  });
});

describe('completion elsewhere', () => {
  it('is silent in comments and titles', () => {
    expect(offered('# drive <|>')).toEqual([]);
    const { document, offset } = atCursor('rig r "dr<|>" {\n}\n');
    expect(suggestionsAt(document, offset, { snippets: true, importable: ['a.rig'], afterBlank: false })).toEqual([]);
  });

  it('offers files in an import, replacing what is written', () => {
    const { document, offset } = atCursor('import "ti<|>"\n');
    const [only] = suggestionsAt(document, offset, { snippets: true, importable: ['times.rig'], afterBlank: false });
    expect(only).toMatchObject({ label: 'times.rig', replace: { start: 8, end: 10 } });
  });

  it('replaces the begun word only', () => {
    const { document, offset } = atCursor('rig r {\n  dri<|>\n}\n');
    const [first] = suggestionsAt(document, offset, { snippets: false, importable: [], afterBlank: false });
    expect(first!.replace).toEqual({ start: offset - 3, end: offset });
  });

  it('offers items of placed parts by their dotted names', () => {
    const { document, offset } = atCursor(
      'rig r {\n  part lock(speed) { door flap { pocket 10 L  travel speed } }\n  place west = lock(1 s)\n  drive west.<|>\n}\n',
    );
    const labels = suggestionsAt(document, offset, { snippets: false, importable: [], afterBlank: false }).map(
      (s) => s.label,
    );
    expect(labels).toContain('west.flap');
  });
});

/** A snippet with its defaults taken, as if every tab stop were left as it is. */
function expanded(snippet: string): string {
  return snippet
    .replace(/\$\{\d+\|([^,|]*)[^}]*\|\}/g, '$1')
    .replace(/\$\{\d+:([^}]*)\}/g, '$1')
    .replace(/\$\d+/g, '');
}

describe('snippets', () => {
  it('exist for every statement', () => {
    expect(Object.keys(STATEMENT_SNIPPETS).sort()).toEqual(STATEMENTS.map((s) => s.keyword).sort());
  });

  it('of a rig is a rig without any problem', () => {
    expect(documentOf(`${expanded(STATEMENT_SNIPPETS['rig']!)}\n`).problems()).toEqual([]);
  });

  it.each(
    [...Object.entries(STATEMENT_SNIPPETS), ...MORE_SNIPPETS.map((m) => [m.label, m.snippet] as const)].filter(
      ([keyword]) => keyword !== 'require' && keyword !== 'signal',
    ),
  )('%s is well formed', (keyword, snippet) => {
    const text = expanded(snippet);
    const atFile = ['import', 'rig'].includes(keyword);
    const { problems } = documentOf(atFile ? `${text}\n` : `rig r {\n${text}\n}\n`).parsed();
    // A part without parameters or a step with a place left open is for the writer to fill in.
    const left = problems.filter(
      (p) => !['part', 'place', 'scenario'].includes(keyword) || p.code !== 'syntax/expected',
    );
    expect(left).toEqual([]);
  });
});

describe('what is complete is left alone, so that Enter ends the line and Tab goes on', () => {
  it.each([
    ['chamber c { volume 3 m3<|> }'],
    ['signal x = TON(start, 2 s<|>)'],
    ['let y = 300 ms<|>'],
    ['switch manual = off<|>'],
    ['feed blower into hopper<|>'],
    ['require order(inlet shuts<|>'],
  ])('%s', (line) => expect(offered(line)).toEqual([]));

  it('nothing comes up by itself after a quantity with its unit; asked for, there is what may follow', () => {
    expect(offered('door d { travel 300 ms <|> }', { afterBlank: true })).toEqual([]);
    expect(offered('door d { travel 300 ms <|> }')).toContain('pocket');
  });

  it('what begins something longer is still offered', () =>
    expect(offered('require order(inlet open<|>')).toContain('opens'));
});
