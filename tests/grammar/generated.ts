/** Sound rigs at random, for property tests: every statement, odd blanks, comments and line breaks where they may stand. */
import fc from 'fast-check';
import { PROPERTIES } from '../../grammar/src/vocabulary';

const name = fc.constantFrom('upper', 'level', 'feed', 'a1', 'on_level', '門', 'café', 'gate.leaf', 'power', 's');
const unit = fc.constantFrom('s', 'ms', 'bar', 'kg/m3', '%', '°C', 'L', '');
const number = fc.constantFrom('0', '1.50', '20', '007', '0.001');
const quantity = fc.tuple(number, fc.constantFrom('', ' ', '  '), unit).map((p) => p.join(''));

const { expression } = fc.letrec<{ expression: string }>((tie) => ({
  expression: fc.oneof(
    { depthSize: 'small', withCrossShrink: true },
    quantity,
    name,
    fc.constantFrom('on', 'off'),
    fc
      .tuple(
        tie('expression'),
        fc.constantFrom('and', 'or', 'xor', '+', '-', '*', '/', '<', '>=', '<>', '+-'),
        tie('expression'),
      )
      .map(([a, o, b]) => `(${a} ${o} ${b})`),
    fc.tuple(fc.constantFrom('not ', '-', '- '), tie('expression')).map((p) => p.join('')),
    fc.tuple(name, fc.array(tie('expression'), { maxLength: 3 })).map(([f, args]) => `${f}(${args.join(' ,')})`),
  ),
}));

function propertyOf(statement: string): fc.Arbitrary<string> {
  const options = PROPERTIES[statement]!.map((p) => {
    const word = p.words.length > 0 ? fc.constantFrom(...p.words) : fc.constant('');
    const pair = fc.tuple(quantity, quantity).map((two) => two.join(' '));
    const list = fc.array(pair, { minLength: 1, maxLength: 3 }).map((all) => all.join(', '));
    const value = p.pairs ? list : p.dimensions.length > 0 ? quantity : fc.constant('');
    return fc.tuple(word, value).map(([w, v]) => [p.keyword, w, v].filter((s) => s !== '').join(' '));
  });
  return fc.oneof(...options);
}

const lineEnd = fc.constantFrom('\n', '\n', '\n\n', ' # note\n', '\n  # own line\n', '\n\n\n');
const blanks = fc.constantFrom(' ', '  ', '     ');

const block = (statement: string): fc.Arbitrary<string> =>
  fc
    .array(fc.tuple(propertyOf(statement), fc.oneof(blanks, lineEnd)), { maxLength: 4 })
    .map((list) => `{ ${list.map((p) => p.join('')).join('')} }`);

const headed = (statement: string, head: fc.Arbitrary<string>) =>
  fc.tuple(head, blanks, block(statement)).map(([h, b, body]) => `${statement} ${h}${b}${body}`);

const statement: fc.Arbitrary<string> = fc.oneof(
  headed('chamber', name),
  headed('door', name),
  headed(
    'medium',
    name.map((n) => `${n} gas`),
  ),
  headed(
    'stack',
    fc
      .tuple(name, lineEnd, name)
      .filter(([a, , b]) => a !== b)
      .map(([a, end, b]) => `${a} >${end} ${b}`),
  ),
  headed(
    'feed',
    fc.tuple(name, name).map(([a, b]) => `${a} into ${b}`),
  ),
  headed(
    'draw',
    fc.tuple(name, name).map(([a, b]) => `${a}  from ${b}`),
  ),
  headed('controller', fc.constant('')),
  headed(
    'sensor',
    fc.tuple(name, name).map(([a, b]) => `${a} on ${b}`),
  ),
  fc.tuple(name, blanks, expression).map(([n, b, e]) => `let ${n}${b}= ${e}`),
  fc.tuple(name, expression, fc.constantFrom('', ' responds 0 s')).map(([n, e, r]) => `signal ${n} = ${e}${r}`),
  fc.tuple(name, expression).map(([n, e]) => `drive ${n}=${e}`),
  fc.tuple(name, lineEnd, name).map(([a, end, b]) => `require gap(${a},${end} ${b}) in 1 s..2 s`),
  fc
    .tuple(name, lineEnd)
    .map(([n, end]) => `sequence ${n} on ${n} {${end} at 1 s open ${n}, ${n}\n at 20 s close ${n}${end}}`),
  fc
    .tuple(name, lineEnd)
    .map(([n, end]) => `scenario ${n} {\n at 1 s feed ${n} on${end} at 200 ms power off\n for 1 h }`),
);

/** The text of a sound rig. */
export const rigText: fc.Arbitrary<string> = fc
  .tuple(fc.constant('rig'), lineEnd, fc.array(fc.tuple(statement, lineEnd), { maxLength: 8 }))
  .map(([kind, end, list]) => `${kind} r {${end}${list.map((p) => p.join('')).join('')}}${end}`);
