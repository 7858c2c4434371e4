/** Habits from other languages and keyboards: each one message with its fix, and nothing after it suffers. */
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import type { SyntaxProblem } from '../../grammar/src/ast';

const SOUND = `rig bank "Gas bank" {
  medium methane { temperature 20 degC }
  let settle = 1.8 s
  chamber receiver { volume 6 m3  pressure 1.02 bar }
  chamber store { volume 1.5 m3  pressure 1.02 bar }
  door upper { pocket 250 L  travel 350 ms }
  door lower { pocket 250 L  travel 350 ms }
  stack receiver > upper > lower > store
  feed mains into receiver { rate 0.02 kg/s }
  draw burner from store { rate 0.01 kg/s }
  switch run = on
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }
  signal start = run and ready and not hold
  signal upper_on = TOF(start, settle)
  signal lower_on = TOF(TON(upper_on, 2.45 s), 1.3 s)
  signal hold = TOF(upper_on, 14 s)
  drive upper = upper_on
  drive lower = lower_on
  require gap(upper, lower) >= 100 ms
  require repeat() in 15 s .. 18 s
  scenario morning {
    at 0 s switch run off
    for 1 h
  }
}
`;

function withEdits(text: string, problem: SyntaxProblem, nth = 0): string {
  const edits = [...problem.fixes![nth]!.edits].sort((a, b) => b.span.start - a.span.start);
  return edits.reduce((t, e) => t.slice(0, e.span.start) + e.text + t.slice(e.span.end), text);
}

/** What is written, what is said of it, and what the text is once every first fix is taken. */
const TABLE: readonly [string, string, readonly string[], string?][] = [
  // Properties without their braces, and a feed or draw that is written from its chamber.
  [
    'door upper { pocket 250 L  travel 350 ms }',
    'door upper pocket 250 L  travel 350 ms  # first',
    ['The properties of a door stand in braces, as in { pocket … }.'],
    'door upper { pocket 250 L  travel 350 ms }  # first',
  ],
  [
    'store { volume 1.5 m3  pressure 1.02 bar }',
    'store { volume 1.5 m3  pressure 1.02 bar  limit pressure 9 bar }',
    ['Write limit and the value alone: the unit says that it is a pressure.'],
    'store { volume 1.5 m3  pressure 1.02 bar  limit 9 bar }',
  ],
  [
    'receiver { rate 0.02 kg/s }',
    'receiver 0.02 kg/s only below 1.8 bar',
    ['The properties of a feed stand in braces, as in { rate … }.'],
    'receiver { rate 0.02 kg/s only below 1.8 bar }',
  ],
  [
    '{ pressure above 1.5 bar  clears below 1.3 bar }',
    'pressure above 1.5 bar clears below 1.3 bar',
    ['The properties of a sensor stand in braces, as in { pressure … }.'],
    '{ pressure above 1.5 bar clears below 1.3 bar }',
  ],
  [
    'medium methane { temperature 20 degC }',
    'medium methane temperature 20 degC',
    ['The properties of a medium stand in braces, as in { temperature … }.'],
    'medium methane { temperature 20 degC }',
  ],
  [
    'feed mains into receiver',
    'feed receiver from mains',
    ['A feed is written with its own name first: feed mains into receiver.'],
    'feed mains into receiver',
  ],
  [
    'draw burner from store',
    'draw store to burner',
    ['A draw is written with its own name first: draw burner from store.'],
    'draw burner from store',
  ],
  ['1.3 s)', '1,3 s)', ['Decimals are written with a point, not a comma.']],
  ['15 s .. 18 s', '15,0 s .. 18 s', ['Decimals are written with a point, not a comma.'], '15.0 s .. 18 s'],
  ['volume 1.5 m3', 'volume 1,5 m3', ['Decimals are written with a point, not a comma.']],
  ['drive upper =', 'drive upper while', ['Write drive upper = and what drives it, not while.']],
  ['drive lower =', 'drive lower when', ['Write drive lower = and what drives it, not when.']],
  ['run and ready', 'run AND ready', ['Write and instead of AND.']],
  ['run and ready', 'run And ready', ['Write and instead of And.']],
  ['and not hold', 'and NOT hold', ['Write not instead of NOT.']],
  ['and not hold', 'or NOT(hold)', ['Write not instead of NOT.'], 'or not(hold)'],
  ['switch run = on', 'switch run = TRUE', ['Write on instead of TRUE.']],
  ['switch run = on', 'switch run = On', ['Write on instead of On.']],
  ['switch run off', 'switch run OFF', ['Write off instead of OFF.']],
  ['1.8 s\n', '1.8 s // waits\n', ['A comment begins with #, not //.'], '1.8 s # waits\n'],
  ['1.8 s\n', '1.8 s -- it {waits\n', ['A comment begins with #, not --.'], '1.8 s # it {waits\n'],
  [
    '  let settle',
    '  /* two\n   * lines */\n  let settle',
    ['A comment begins with #, not /*.'],
    '  # two\n# lines\n  let settle',
  ],
  ['"Gas bank"', '“Gas bank”', ['A text is written in straight double quotes: "Gas bank".']],
  ['"Gas bank"', '„Gas bank“', ['A text is written in straight double quotes: "Gas bank".']],
  ['"Gas bank"', '«Gas bank»', ['A text is written in straight double quotes: "Gas bank".']],
  ['"Gas bank"', "'Gas bank'", ['A text is written in straight double quotes: "Gas bank".']],
  ['"Gas bank"', '"Gas bank”', ['A text is written in straight double quotes: "Gas bank".']],
  ['1.3 s)', 'T#1s300ms)', ['A time is a number and a unit, such as 1.3 s, not T#1s300ms.']],
  [
    'TOF(start, settle)',
    'TOF(IN := start, PT := settle)',
    [
      'Inputs of a block stand in order, without their names: remove IN :=.',
      'Inputs of a block stand in order, without their names: remove PT :=.',
    ],
  ],
  ['>= 100 ms', '> = 100 ms', ['An operator has no blanks inside: write >=.']],
  [
    'receiver > upper > lower > store',
    'receiver, upper, lower, store',
    ['The members of a stack are written with > between them, in the order of flow.'],
  ],
  ['stack receiver', 'stack main = receiver', ['A stack has no name; remove main =.']],
  ['mains into receiver', 'mains to receiver', ['Expected into after mains, not to.']],
  ['burner from store', 'burner out of store', ['Expected from after burner, not out of.']],
  ['ready on receiver', 'ready at receiver', ['Expected on after ready, not at.']],
  ['above 1.5 bar', '> 1.5 bar', ['Expected above or below after pressure, not >.']],
  ['15 s .. 18 s', '15 s - 18 s', ['Expected a range after in, such as 50 ms .. 400 ms.']],
  ['15 s .. 18 s', '15 s to 18 s', ['Expected a range after in, such as 50 ms .. 400 ms.']],
  ['door upper', 'valve upper', ['valve is not a statement; did you mean door?']],
  ['let settle', 'const settle', ['const is not a statement; did you mean let?']],
  ['  drive lower', '  DRIVE lower', ['DRIVE is not a statement; did you mean drive?']],
];

describe('slips of the pen', () => {
  it('the rig they are made in is sound', () => expect(parse(SOUND).problems).toEqual([]));

  it.each(TABLE.map(([was, slip, messages, fixed]) => ({ was, slip, messages, fixed })))(
    '$was written $slip',
    ({ was, slip, messages, fixed }) => {
      expect(SOUND).toContain(was);
      let text = SOUND.replace(was, () => slip);
      expect(parse(text).problems.map((p) => p.message)).toEqual(messages);
      for (const _ of messages) text = withEdits(text, parse(text).problems[0]!);
      const blanks = (t: string) => t.replace(/[ \t]+/g, ' ').replace(/^ /gm, '');
      expect(blanks(text)).toBe(blanks(SOUND.replace(was, () => fixed ?? was)));
      expect(parse(text).problems).toEqual([]);
    },
  );

  it.each([
    ['upper_on', 'upper-on', 'The name of a signal has no hyphens; write upper_on.'],
    ['upper_on', 'upper on', 'The name of a signal has no blanks; write upper_on.'],
    ['store', 'big store', 'The name of a chamber has no blanks; write big_store.'],
    ['upper\\b', 'door-2', 'The name of a door has no hyphens; write door_2.'],
    ['store', '2nd_store', 'The name of a chamber begins with a letter; write chamber_2nd_store.'],
    ['lower\\b', 'in', 'in is a word of the language and cannot be a name; write in_door.'],
    ['hold', 'off', 'off is a word of the language and cannot be a name; write off_signal.'],
  ])('%s called %s everywhere', (was, name, message) => {
    const text = SOUND.replace(new RegExp(`\\b${was}\\b`.replace('\\b\\b', '\\b'), 'g'), name);
    const { problems } = parse(text);
    expect(problems.map((p) => p.message)).toEqual([message]);
    expect(parse(withEdits(text, problems[0]!)).problems).toEqual([]);
  });

  it('leaves alone what is meant so', () => {
    for (const line of [
      'let x = --5 s',
      'signal AND = run',
      'place a = lock(2,3)',
      'let y = settle-lag',
      'scenario OR { for 1 h }',
      'feed NOT into receiver { rate 1 kg/s }',
    ])
      expect(parse(`rig r {\n${line}\n}`).problems, line).toEqual([]);
  });

  it('a number that may have a separator is not chosen for the writer', () => {
    const [problem] = parse('rig r { chamber a { volume 1,000 L } }').problems;
    expect(problem!.fixes!.map((f) => f.title)).toEqual(['Write a point', 'Write 1000']);
  });

  it('a negative value after a word is the value of the next property', () => {
    expect(parse('rig r { medium methane { law real  temperature -40 degC } }').problems).toEqual([]);
  });
});

it('a sequence on a condition is read as on its first name, and the condition gets one of its own', () => {
  const text = SOUND.replace(
    'drive upper = upper_on',
    'sequence beat on ready and not (hold or run) { at 1 s open upper }',
  );
  const { problems, tree } = parse(text);
  expect(problems.map(({ message }) => message)).toEqual([
    'A sequence is started by one name: write signal beat_on = ready and not (hold or run) before it, and on beat_on.',
  ]);
  // Nothing is decided by a sequence that starts at another moment than is meant.
  const [rig] = tree.statements;
  expect(rig?.kind === 'rig' && rig.body.find(({ kind }) => kind === 'sequence')?.damaged).toBe(true);
  const mended = withEdits(text, problems[0]!);
  expect(parse(mended).problems).toEqual([]);
  expect(mended).toContain(
    'signal beat_on = ready and not (hold or run)\n  sequence beat on beat_on { at 1 s open upper }',
  );
});
