import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formatEdits, formatRange, formatText, parse } from '../../grammar/src/api';
import { displayWidth } from '../../grammar/src/format-columns';
import { applyEdits } from '../../grammar/src/formatter';
import { dedent, rangeFixture } from '../support/fixture';
import { rigText } from './generated';
import { plainStatement } from './support';

/** Formats `before`; the result must be `after`, and formatting that again must change nothing. */
function expectFormat(before: string, after: string): void {
  const expected = dedent(after) + '\n';
  expect(formatText(dedent(before)).text).toBe(expected);
  expect(formatText(expected).text).toBe(expected);
}

describe('formatter', () => {
  it('sets blanks and indentation', () => {
    expectFormat(
      `
      rig  r   "A  b"{
      door upper{pocket   swept travel 300ms+-20 ms rest   open}
         signal a=TON( not(b or -c),2   s )and d
            require gap( upper ,lower )>=100ms
      part p( a,b ){
      place q=p ( 2 s,-1 )
      }
      stack x>upper>y{moves 24%}
      }
      `,
      `
      rig r "A  b" {
        door upper { pocket swept  travel 300 ms +- 20 ms  rest open }
        signal a = TON(not (b or -c), 2 s) and d
        require gap(upper, lower) >= 100 ms
        part p(a, b) {
          place q = p(2 s, -1)
        }
        stack x > upper > y { moves 24 % }
      }
      `,
    );
  });

  it('sets neighbouring lines of one keyword in columns', () => {
    expectFormat(
      `
      rig r {
        let settle = 1.4 s
        let x = 2
        chamber receiver { volume 6 m3 }
        chamber a { volume 1.5 m3  limit 10 bar }

        feed digester into receiver { rate 1 kg/s }
        draw b from a { rate 1 kg/s }
        signal on_time = a
        signal b = on_time

        signal c = b
        drive upper = c
        drive lo = c
        switch run = on
        sensor ready on receiver { pressure above 1 bar }
        sensor full on a { pressure above 1 bar }
      }
      `,
      `
      rig r {
        let settle = 1.4 s
        let x      = 2
        chamber receiver { volume 6 m3 }
        chamber a        { volume 1.5 m3  limit 10 bar }

        feed digester into receiver { rate 1 kg/s }
        draw b        from a        { rate 1 kg/s }
        signal on_time = a
        signal b       = on_time

        signal c = b
        drive upper = c
        drive lo    = c
        switch run = on
        sensor ready on receiver { pressure above 1 bar }
        sensor full  on a        { pressure above 1 bar }
      }
      `,
    );
  });

  it('sets properties in columns as far as neighbouring lines have the same', () => {
    expectFormat(
      `
      rig r {
        chamber receiver { volume 6 m3 pressure 1.02 bar }
        chamber store { volume 1.5 m3 pressure 1 bar limit 10 bar }
        chamber c { volume 1 m3 }
        chamber d { volume 1 m3 pressure 1.5 bar tight gas limit 2 bar }
      }
      `,
      `
      rig r {
        chamber receiver { volume 6 m3    pressure 1.02 bar }
        chamber store    { volume 1.5 m3  pressure 1 bar    limit 10 bar }
        chamber c        { volume 1 m3 }
        chamber d        { volume 1 m3    pressure 1.5 bar  tight gas  limit 2 bar }
      }
      `,
    );
  });

  it('sets properties on lines of their own, and steps, in columns', () => {
    expectFormat(
      `
      rig r {
        medium b gas {
          molar_mass 27.2 g/mol
          heat_ratio 1.30
          law ideal
        }
        scenario s {
          at 0 s feed x on
          at 40 min feed x off
          for 1 h
        }
        sequence t on a {
          at 0 s open u, v
          at 10.5 s close u
          repeat  after 1 min
        }
      }
      `,
      `
      rig r {
        medium b gas {
          molar_mass  27.2 g/mol
          heat_ratio  1.30
          law         ideal
        }
        scenario s {
          at 0 s     feed x on
          at 40 min  feed x off
          for 1 h
        }
        sequence t on a {
          at 0 s     open u, v
          at 10.5 s  close u
          repeat after 1 min
        }
      }
      `,
    );
  });

  it('keeps comments, sets those at line ends in a column, and keeps single empty lines', () => {
    expectFormat(
      `

      # head

      #no blank
      rig r { # what


        # upper
          door a { travel 1 s } # one
        door bcd { travel 1 s }   # two



        # last

      }
      # end
      `,
      `
      # head

      #no blank
      rig r {  # what
        # upper
        door a   { travel 1 s }  # one
        door bcd { travel 1 s }  # two

        # last
      }
      # end
      `,
    );
  });

  it('indents what goes on, and takes an opening brace up', () => {
    expectFormat(
      `
      rig r
      {
        signal a =
        b
        and c
        require order(
          x opens,  # first
          # then
          y opens
        )
        chamber c # note
        {
          volume 1 m3
        }
        chamber d
        { volume 1 m3 }
      }
      `,
      `
      rig r {
        signal a =
            b
            and c
        require order(
            x opens,  # first
            # then
            y opens
            )
        chamber c  # note
            {
          volume 1 m3
        }
        chamber d { volume 1 m3 }
      }
      `,
    );
  });

  it.each([
    ['LF', 'rig r {\n  let a = 1\n}', '\n'],
    ['CRLF', 'rig r {\r\n let a = 1\r\n}', '\r\n'],
    ['CR', 'rig r {\r let a = 1\r}', '\r'],
    ['the most frequent of several', 'rig r {\r\n let a = 1\r\n let b = 2\n}', '\r\n'],
  ])('keeps %s as line end', (_, text, end) => {
    const formatted = formatText(text).text!;
    expect(
      formatted
        .split(end)
        .join('')
        .match(/[\r\n]/),
    ).toBeNull();
    expect(formatted.endsWith('}' + end)).toBe(true);
  });

  it('leaves an empty text empty', () => {
    expect(formatText('').text).toBe('');
    expect(formatText('\n \n').text).toBe('');
  });

  it('leaves a text with a mistake alone and says where', () => {
    expect(formatText('rig r {\n  door upper {travel}\n}')).toEqual({
      text: null,
      reason: 'Not formatted, because line 2 has a mistake: Expected a value after travel, such as 300 ms.',
    });
  });

  it('gives the smallest edits', () => {
    const text = 'rig r {\n  let  a = 1\n  let b = 2\n}\n';
    expect(formatEdits(text).edits).toEqual([{ span: { start: 13, end: 15 }, text: ' ' }]);
  });

  it('formats only the lines of a range', () => {
    const { text, ranges } = rangeFixture('rig r {\nlet a =  1\nle<|t b =|>  2\nlet c =  3\n}\n');
    const { edits } = formatRange(text, ranges[0]!);
    expect(applyEdits(text, edits!)).toBe('rig r {\nlet a =  1\n  let b = 2\nlet c =  3\n}\n');
  });

  it('counts columns of wide and combining characters', () => {
    expect(displayWidth('門')).toBe(2);
    expect(displayWidth('cafe\u0301')).toBe(4);
    expectFormat(
      `
      rig r {
        let 門 = 1
        let cafe\u0301 = 2
      }
      `,
      `
      rig r {
        let 門   = 1
        let cafe\u0301 = 2
      }
      `,
    );
  });
});

describe('formatter, on generated rigs', () => {
  const words = (text: string) =>
    parse(text)
      .tokens.filter((t) => t.kind !== 'newline')
      .map((t) => t.text.trimEnd());
  const shape = (text: string) => parse(text).tree.statements.map(plainStatement);

  it('changes nothing the second time, loses nothing, and means the same', () => {
    fc.assert(
      fc.property(rigText, (text) => {
        expect(parse(text).problems).toEqual([]);
        const { text: formatted, reason } = formatText(text);
        expect(reason).toBeNull();
        expect(words(formatted!)).toEqual(words(text));
        expect(shape(formatted!)).toEqual(shape(text));
        expect(formatText(formatted!).text).toBe(formatted);
      }),
      { numRuns: 300 },
    );
  });

  it('any sound cut of a rig too', () => {
    fc.assert(
      fc.property(rigText, fc.nat(400), (text, at) => {
        const cut = text.slice(0, at);
        const { text: formatted } = formatText(cut);
        if (formatted === null) {
          expect(parse(cut).problems.length).toBeGreaterThan(0);
          return;
        }
        expect(words(formatted)).toEqual(words(cut));
        expect(formatText(formatted).text).toBe(formatted);
      }),
      { numRuns: 300 },
    );
  });
});
