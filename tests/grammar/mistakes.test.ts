import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { expectMistakes, expectMistakesInRig as inRig } from './support';

describe('mistakes in statements', () => {
  it('unknown statement, with and without a near match', () => {
    inRig(`
  chmber a { volume 6 m3 }
  ^^^^^^ unknown-statement: chmber is not a statement; did you mean chamber?
  foo bar
  ^^^ unknown-statement: foo begins no statement; a line begins with a word such as chamber, door or signal.
  x = 5
  ^ unknown-statement: Expected a statement; for a constant write let x =, for a signal signal x =.
  42
  ^^ unknown-statement: 42 begins no statement; a line begins with a word such as chamber, door or signal.
`);
  });

  it.each([
    ['vent', 'door NAME, and stack CHAMBER > NAME > atmosphere'],
    ['flap', 'did you mean door?'],
    ['sump', 'did you mean chamber?'],
    ['blower', 'did you mean feed?'],
    ['lever', 'did you mean switch?'],
    ['pipe', 'stack CHAMBER > DOOR > CHAMBER'],
    ['delay', 'signal NAME = TON(SIGNAL, 2 s)'],
  ])('the trade says %s: the line says how it is written', (word, form) => {
    const [problem, ...more] = parse(`rig r {\n  ${word} one { }\n}`).problems;
    expect(problem!.message).toContain(form);
    expect(more).toEqual([]);
  });

  it('missing names and link words', () => {
    inRig(`
  chamber { volume 1 m3 }
          ^ expected: Expected a name for the chamber, not {.
  door
  ^^^^ expected: Expected a name for the door.
  door on { travel 1 s }
       ^^ name: on is a word of the language and cannot be a name; write on_door.
  feed into store
       ^^^^ expected: Expected a name for the feed, not into.
  feed a store
         ^^^^^ expected: Expected into and the name of a chamber after a, not store.
  sensor s receiver { pressure above 1 bar }
           ^^^^^^^^ expected: Expected on and the name of a chamber after s, not receiver.
  sensor on tank { level above 1 m }
         ^^ expected: Expected a name for the sensor, not on.
  stack a > > b
            ^ expected: Expected the name of a door or chamber, not >.
  stack a >
          ^ expected: Expected the name of a door or chamber.
`);
  });

  it('missing =, values and what is too much', () => {
    inRig(`
  drive upper upper_on
              ^^^^^^^^ expected: Expected = after upper, not upper_on.
  signal a =
           ^ expected: Expected a signal after =.
  signal b = c and
               ^^^ expected: Expected a signal after and.
  signal c = a b
               ^ expected: An operator is missing between a and b: and, or, xor.
  let t = 1 s let u = 2 s
              ^^^ expected: Begin a new line before let.
  switch s = on off
                ^^^ expected: Expected the end of the line after on, not off.
`);
  });

  it('statements in the wrong place: once outside, each inside', () => {
    expectMistakes(`
      chamber a { volume 1 m3 }
      ^^^^^^^ misplaced-statement: chamber may only stand in a rig or in a part, not outside a rig.
      door b { travel 1 s }
      rig r {
        import "x.rig"
        ^^^^^^ misplaced-statement: import may only stand outside a rig, not in a rig.
        part p { medium air }
                 ^^^^^^ misplaced-statement: medium may only stand outside a rig or in a rig, not in a part.
      }
    `);
  });

  it('import without a file, medium with a wrong phase', () => {
    expectMistakes(`
      import parts
             ^^^^^ expected: Expected a file name in quotes, such as "parts.rig", after import, not parts.
      medium air gaz
                 ^^^ expected: A medium is gas, liquid or packed, not gaz.
    `);
  });

  it('require', () => {
    inRig(`
  require overlap(a, b) in 5 s
                           ^^^ expected: Expected a range after in, such as 50 ms .. 400 ms.
  require overlap(a b) >= 5 s
                    ^ expected: A comma is missing between a and b.
  require overlap(a, b) >=
                        ^^ expected: Expected a value after >=.
  require gap(a, b) >= 5 s during
                           ^^^^^^ expected: Expected the name of a scenario.
  require
  ^^^^^^^ expected: Expected a metric such as overlap(…) after require.
`);
  });

  it('steps', () => {
    inRig(`
  sequence s on x {
    at open upper
       ^^^^ expected: Expected a time after at, not open.
    at 0 s opne upper
           ^^^^ expected: Expected open or close, not opne.
    at 0 s open
           ^^^^ expected: Expected the name of a door.
    close upper
    ^^^^^ expected: Expected at or repeat after, not close.
    repeat 10 s
           ^^ expected: Write repeat after, then a time.
  }
  scenario t {
    at 0 s feed on
                ^^ expected: Expected the name of a feed, not on.
    at 0 s feed x
                ^ expected: Expected on or off after x.
    at 0 s door x on
           ^^^^ expected: Expected feed, draw, switch, sensor or power, not door.
    for
    ^^^ expected: Expected a time after for.
  }
`);
  });
});

describe('mistakes in properties', () => {
  it('unknown property, missing value, wrong word', () => {
    inRig(`
  chamber a { presure 6 bar  volume 1 m3 }
              ^^^^^^^ unknown-property: chamber has no property presure; did you mean pressure?
  chamber b { volume  pressure 1 bar }
              ^^^^^^ expected: Expected a value after volume, such as 250 L.
  door c { rest shut }
                ^^^^ expected: rest takes open or closed, not shut.
  door d { rest }
           ^^^^ expected: Expected open or closed after rest.
  sensor s on a { pressure 1.5 bar }
                           ^^^ expected: Expected above or below after pressure, not 1.5.
  door e { discharge 0.6  boer 300 mm }
                          ^^^^ unknown-property: door has no property boer; did you mean bore?
  chamber f { 6 m3 }
              ^ expected: Expected a property such as volume or pressure, not 6.
`);
  });

  it('signs between and in properties', () => {
    inRig(`
  chamber a { volume = 6 m3, pressure 1 bar; limit 2 bar }
                     ^ expected: A property has no =; write its value after a blank.
                                           ^ expected: No ; is needed here: properties are separated by blanks or new lines.
  chamber b { volume 1,5 m3  pressure 1 bar }
                      ^ number: Decimals are written with a point, not a comma.
  chamber c { volume 1 m3 { limit 2 bar } }
                          ^ expected: Expected another property or } after m3, not {.
`);
  });
});

describe('brackets', () => {
  it('a missing } is reported at the block that opened it, and nothing after it suffers', () => {
    inRig(`
  chamber a { volume 6 m3
            ^ unclosed: The block of this chamber is not closed; add a } at its end.
  chamber b { volume 1 m3 }
  medium c gas {
               ^ unclosed: The block of this medium is not closed; add a } at its end.
    molar_mass 27 g/mol
  door d { travel 1 s }
`);
  });

  it('a missing } of a rig shows at the next rig', () => {
    expectMistakes(`
      rig a {
            ^ unclosed: The block of this rig is not closed; add a } at its end.
        door d { travel 1 s }
      
      rig b {
        door e { travel 1 s }
      }
    `);
  });

  it('a missing } shows by the indentation of the next one', () => {
    expectMistakes(`
      rig a {
        scenario s {
                   ^ unclosed: The block of this scenario is not closed; add a } at its end.
          at 0 s power off
      }
      rig b { }
    `);
  });

  it('at the end of a text each open block is reported', () => {
    expectMistakes(`
      rig a {
            ^ unclosed: The block of this rig is not closed; add a } at its end.
        chamber b { volume 1 m3
                  ^ unclosed: The block of this chamber is not closed; add a } at its end.
    `);
  });

  it('a } too many', () => {
    expectMistakes(`
      rig a {
        door d { travel 1 s }}
                             ^ unopened: This } closes nothing; remove it.
      }
    `);
  });

  it('a missing } and one too many do not hide each other', () => {
    expectMistakes(`
      rig a {
        chamber b { volume 1 m3
                  ^ unclosed: The block of this chamber is not closed; add a } at its end.
        door c { travel 1 s }
        door d { travel 1 s }
      }
      }
      ^ unopened: This } closes nothing; remove it.
    `);
  });

  it('a brace put in for one statement is not held against the next', () => {
    inRig(`
  door import let pocket_size  clearance 1 L  travel 150 ms }
              ^^^ expected: Begin a new line before let.
                  ^^^^^^^^^^^ expected: Expected { after pocket_size.
  stack a > b
`);
  });

  it('a statement inside the properties of another is no sign of a missing }', () => {
    inRig(`
  chamber a {
    volume 1 m3
    door b { travel 1 s }
    ^^^^ misplaced-statement: door is a statement of its own and cannot stand among the properties of a chamber.
  }
  signal c = d
`);
  });

  it('parentheses', () => {
    inRig(`
  signal a = TON(b, 2 s
                ^ unclosed: This parenthesis is not closed; add a ).
  signal b = (a or (c and d)
             ^ unclosed: This parenthesis is not closed; add a ).
  signal c = a or b)
                   ^ unopened: This ) closes nothing; remove it.
  drive d = TOF(TON(a, 1 s), 2 s
               ^ unclosed: This parenthesis is not closed; add a ).
`);
  });
});

describe('characters, numbers, strings', () => {
  it('numbers', () => {
    inRig(`
  let a = 1_000 ms
          ^^^^^ number: Write this number as a plain decimal: 1000.
  let b = 1.5e3 ms
          ^^^^^ number: Write this number as a plain decimal: 1500.
  let c = .5 s
          ^^ number: Write this number as a plain decimal: 0.5.
  let d = 5. s
          ^^ number: Write this number as a plain decimal: 5.
  let e = 1e-3 s
          ^^^^ number: Write this number as a plain decimal: 0.001.
`);
  });

  it('operators of other languages', () => {
    inRig(`
  signal a = b && c
               ^^ operator: Write and instead of &&.
  signal d = b != c
               ^^ operator: Write <> instead of !=.
  require gap(a, b) ≥ 5 s
                    ^ operator: Write >= instead of ≥.
  stack a -> b
          ^^ operator: Write > instead of ->.
`);
  });

  it('characters and strings', () => {
    expectMistakes(`
      rig a "unclosed {
            ^^^^^^^^^^^ unclosed: This text in quotes is not closed; add a " at its end.
      }
      import "a\\b.rig"
               ^^ string: In quotes only \\" and \\\\ are escapes; write \\\\ for a backslash.
      rig b { let x = 5 $ }
                        ^ character: The character $ has no meaning here.
      $ €
      ^ character: The character $ has no meaning here.
    `);
  });

  it('too deep and too long', () => {
    const deep = `rig r { signal a = ${'('.repeat(5000)}b${')'.repeat(5000)}\n signal c = a }`;
    expect(parse(deep).problems.map((p) => p.code)).toEqual(['syntax/too-deep']);
    const long = `rig r { signal a = b${' or b'.repeat(5000)}\n signal c = a }`;
    expect(parse(long).problems.map((p) => p.code)).toEqual(['syntax/too-deep']);
    const nots = `rig r { signal a = ${'not '.repeat(400)} b }`;
    expect(parse(nots).problems.map((p) => p.code)).toEqual(['syntax/too-deep']);
    const blocks = 'rig a { '.repeat(5000) + '}'.repeat(5000);
    expect(parse(blocks).problems.filter((p) => p.code === 'syntax/too-deep')).toHaveLength(1);
  });

  it('lists at most 200 and says that there are more', () => {
    const { problems } = parse('rig r {\n' + '  door\n'.repeat(500) + '}\n');
    expect(problems).toHaveLength(201);
    expect(problems[200]!.message).toBe('There are 300 more mistakes in this file; mend some of these first.');
  });
});
