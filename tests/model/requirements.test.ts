import { describe, expect, it } from 'vitest';
import { rigFrom } from '../support/rig';

const FRAME = `let most = 6 bar
switch a = on
chamber c { volume 1 m3 }
door up { travel 1 s }
door down { travel 1 s }
signal x = a
scenario quiet { for 1 h }
scenario noon { at 1 s switch a off  for 2 h }
`;
const require = (statement: string) => rigFrom(`rig r {\n${FRAME}require ${statement}\n}`).rig.requirements[0]!;

describe('arguments', () => {
  it.each<[string, unknown[]]>([
    ['m(up, c, x, a, noon)', ['door 0', 'chamber 0', 'signal 0', 'switch 0', 'scenario 1']],
    ['m(most)', ['pressure 600000']],
    ['m(2 s + 1 ms)', ['time 2001000']],
    ['m(3)', ['none 3']],
    ['m(up opens, down shuts)', ['up opens', 'down shuts']],
    ['m(on)', ['{"op":"const","value":true}']],
    ['m(up and not x)', ['{"op":"and","a":{"op":"door","door":0},"b":{"op":"not","a":{"op":"net","net":1}}}']],
  ])('%s', (statement, expected) =>
    expect(
      require(statement).args.map((arg) => {
        if (arg.kind === 'item') return `${arg.of} ${arg.index}`;
        if (arg.kind === 'quantity') return `${arg.dimension} ${arg.value.nominal}`;
        if (arg.kind === 'event') return `${arg.name} ${arg.event}`;
        return arg.kind === 'condition' ? JSON.stringify(arg.condition) : arg.kind;
      }),
    ).toEqual(expected),
  );
});

describe('comparisons', () => {
  it.each([
    ['m() >= 1 s', '>=', 'time', 1_000_000, 1_000_000],
    ['m() in 50 ms .. 400 ms', 'in', 'time', 50_000, 400_000],
    ['m() <> 2', '<>', 'none', 2, 2],
    ['m() < most', '<', 'pressure', 600_000, 600_000],
    ['m() <= 50 %', '<=', 'none', 0.5, 0.5],
  ])('%s', (statement, operator, dimension, low, high) =>
    expect(require(statement).comparison).toMatchObject({
      operator,
      dimension,
      low: { nominal: low },
      high: { nominal: high },
    }),
  );

  it('are absent where a metric stands alone', () => expect(require('never(up and down)').comparison).toBeNull());
});

describe('the rest', () => {
  it('names the scenario', () => {
    expect(require('m() > 1 s during noon').during).toBe(1);
    expect(require('m() > 1 s').during).toBeNull();
  });

  it('keeps the text, blanks folded', () =>
    expect(require('gap( up,\n    down )   >=   100 ms during quiet').text).toBe(
      'gap( up, down ) >= 100 ms during quiet',
    ));
});
