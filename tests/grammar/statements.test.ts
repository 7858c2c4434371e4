import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { plainStatement, statementsInRig } from './support';

const one = (text: string) => statementsInRig(text)[0];

describe('statements', () => {
  it('reads import', () => {
    const { tree, problems } = parse('import "parts/gates.rig"');
    expect(problems).toEqual([]);
    expect(tree.statements.map(plainStatement)).toEqual([{ kind: 'import', path: '"parts/gates.rig"' }]);
  });

  it('reads rig with and without title', () => {
    const { tree, problems } = parse('rig a "The \\"old\\" one" { }\nrig b { }');
    expect(problems).toEqual([]);
    expect(tree.statements.map(plainStatement)).toEqual([
      { kind: 'rig', name: 'a', title: '"The "old" one"', body: [] },
      { kind: 'rig', name: 'b', title: null, body: [] },
    ]);
  });

  it('reads part, with its parameters, and place', () => {
    expect(
      statementsInRig('part gate(t, into_what) {\n  door leaf { travel t }\n}\nplace west = gate(2 s, tank)'),
    ).toEqual([
      {
        kind: 'part',
        name: 'gate',
        parameters: ['t', 'into_what'],
        body: [{ kind: 'door', name: 'leaf', properties: [{ keyword: 'travel', words: [], value: 't' }] }],
      },
      { kind: 'place', name: 'west', part: 'gate', args: ['2[s]', 'tank'] },
    ]);
  });

  it('reads place without arguments', () => {
    expect(one('place east = gate')).toEqual({ kind: 'place', name: 'east', part: 'gate', args: [] });
  });

  it('reads let', () => {
    expect(one('let long = 2 * settle + 100 ms')).toEqual({
      kind: 'let',
      name: 'long',
      range: null,
      value: '((2 * settle) + 100[ms])',
    });
  });

  it('reads medium: built in, and with phase and properties', () => {
    expect(one('medium water')).toEqual({ kind: 'medium', name: 'water', phase: null, properties: [] });
    expect(one('medium b gas { molar_mass 27.2 g/mol\n law ideal }')).toEqual({
      kind: 'medium',
      name: 'b',
      phase: 'gas',
      properties: [
        { keyword: 'molar_mass', words: [], value: '27.2[g/mol]' },
        { keyword: 'law', words: ['ideal'], value: null },
      ],
    });
  });

  it('reads chamber, several properties on one line', () => {
    expect(one('chamber store { volume 1.5 m3  pressure 1.02 bar limit 10 bar }')).toEqual({
      kind: 'chamber',
      name: 'store',
      properties: [
        { keyword: 'volume', words: [], value: '1.5[m3]' },
        { keyword: 'pressure', words: [], value: '1.02[bar]' },
        { keyword: 'limit', words: [], value: '10[bar]' },
      ],
    });
  });

  it('reads door: a constant before the next property, words, words with values', () => {
    expect(
      one('door upper { pocket swept travel 300 ms +- 20 ms rest open power moving 300 W power held 20 W }'),
    ).toEqual({
      kind: 'door',
      name: 'upper',
      properties: [
        { keyword: 'pocket', words: [], value: 'swept' },
        { keyword: 'travel', words: [], value: '(300[ms] +- 20[ms])' },
        { keyword: 'rest', words: ['open'], value: null },
        { keyword: 'power', words: ['moving'], value: '300[W]' },
        { keyword: 'power', words: ['held'], value: '20[W]' },
      ],
    });
  });

  it('reads stack, with and without properties', () => {
    expect(one('stack receiver > upper > gate.leaf > store')).toEqual({
      kind: 'stack',
      members: ['receiver', 'upper', 'gate.leaf', 'store'],
      properties: [],
    });
    expect(one('stack a > d > b { moves 24 %  tight gas }')).toEqual({
      kind: 'stack',
      members: ['a', 'd', 'b'],
      properties: [
        { keyword: 'moves', words: [], value: '24[%]' },
        { keyword: 'tight', words: ['gas'], value: null },
      ],
    });
  });

  it('reads feed and draw', () => {
    expect(
      statementsInRig('feed digester into receiver { rate 0.12 kg/s }\ndraw burner from store { only above 3 bar }'),
    ).toEqual([
      {
        kind: 'feed',
        name: 'digester',
        chamber: 'receiver',
        properties: [{ keyword: 'rate', words: [], value: '0.12[kg/s]' }],
      },
      {
        kind: 'draw',
        name: 'burner',
        chamber: 'store',
        properties: [{ keyword: 'only', words: ['above'], value: '3[bar]' }],
      },
    ]);
  });

  it('reads supply and controller', () => {
    expect(
      statementsInRig('supply { limit 2 kW }\ncontroller { response 50 ms +- 10 ms  timer_accuracy 2 % }'),
    ).toEqual([
      { kind: 'supply', properties: [{ keyword: 'limit', words: [], value: '2[kW]' }] },
      {
        kind: 'controller',
        properties: [
          { keyword: 'response', words: [], value: '(50[ms] +- 10[ms])' },
          { keyword: 'timer_accuracy', words: [], value: '2[%]' },
        ],
      },
    ]);
  });

  it('reads switch and sensor', () => {
    expect(
      statementsInRig('switch run = on\nsensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }'),
    ).toEqual([
      { kind: 'switch', name: 'run', initial: 'on', properties: [] },
      {
        kind: 'sensor',
        name: 'ready',
        chamber: 'receiver',
        properties: [
          { keyword: 'pressure', words: ['above'], value: '1.5[bar]' },
          { keyword: 'clears', words: ['below'], value: '1.3[bar]' },
        ],
      },
    ]);
  });

  it('reads signal and drive', () => {
    expect(statementsInRig('signal s = TOF(TON(m, 2.0 s), 1 s) responds 0 s\ndrive upper = s and not t')).toEqual([
      { kind: 'signal', name: 's', value: 'TOF(TON(m, 2.0[s]), 1[s])', responds: '0[s]' },
      { kind: 'drive', target: 'upper', value: '(s and (not t))' },
    ]);
  });

  it('reads sequence', () => {
    expect(
      one('sequence stroke on start {\n at 0 s open upper, middle\n at 1.4 s close upper\n repeat after 11 s\n}'),
    ).toEqual({
      kind: 'sequence',
      name: 'stroke',
      trigger: 'start',
      steps: [
        { at: '0[s]', action: 'open', doors: ['upper', 'middle'] },
        { at: '1.4[s]', action: 'close', doors: ['upper'] },
      ],
      repeatAfter: '11[s]',
    });
  });

  it('reads scenario', () => {
    expect(
      one('scenario m {\n at 0 s feed digester on\n at 2 min power off\n at t + 1 s switch run off\n for 1 h\n}'),
    ).toEqual({
      kind: 'scenario',
      name: 'm',
      steps: [
        { at: '0[s]', action: 'feed', target: 'digester', state: 'on' },
        { at: '2[min]', action: 'power', target: null, state: 'off' },
        { at: '(t + 1[s])', action: 'switch', target: 'run', state: 'off' },
      ],
      duration: '1[h]',
    });
  });

  it('reads require: comparison, range, order, never, scenario', () => {
    const text = [
      'require overlap(upper, middle) >= 1.20 s',
      'require repeat() in 10 s .. 15 s during morning',
      'require order(upper opens, lower shuts)',
      'require never(upper and lower)',
      'require mass_at(store, 5 min) < 3 kg during night',
    ].join('\n');
    expect(statementsInRig(text).map((s) => Object.values(s as object).slice(1))).toEqual([
      ['overlap(upper, middle)', { operator: '>=', value: '1.20[s]' }, null],
      ['repeat()', { operator: 'in', value: '(10[s] .. 15[s])' }, 'morning'],
      ['order(upper!opens, lower!shuts)', null, null],
      ['never((upper and lower))', null, null],
      ['mass_at(store, 5[min])', { operator: '<', value: '3[kg]' }, 'night'],
    ]);
  });

  it('lets every word but the reserved ones be a name', () => {
    const text = [
      'door level { travel 1 s }',
      'door feed { travel travel }',
      'chamber power { volume 1 m3 }',
      'switch at = off',
      'signal door = feed or level and at',
      'signal opens = signal',
      'drive feed = door',
      'sequence repeat on for { at 0 s open open, close }',
      'feed into into into',
    ].join('\n');
    expect(statementsInRig(text)).toHaveLength(9);
  });
});
