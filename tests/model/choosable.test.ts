import { describe, expect, it } from 'vitest';
import { parse, parseExpression } from '../../grammar/src/api';
import { formatText } from '../../grammar/src/api';
import { rigFrom } from '../support/rig';
import { problemLines } from '../support/problem-lines';

const ends = (text: string) => {
  const { rig } = rigFrom(text);
  return rig.choosable.map((c) => [c.name, c.dimension, c.low.nominal, c.value.nominal, c.high.nominal]);
};

describe('constants that may be chosen', () => {
  it('of the file and of the rig, times in whole microseconds', () =>
    expect(
      ends(
        'let settle = 1.8 s in 500 ms .. 3 s\nrig r {\nlet v = 2 * 20 L in 10 L .. 200 L\ndoor d { travel settle pocket v }\n}',
      ),
    ).toEqual([
      ['settle', 'time', 500_000, 1_800_000, 3_000_000],
      ['v', 'volume', 0.01, 0.04, 0.2],
    ]));

  it('ends may be constants; a tolerance belongs to the value', () => {
    const { rig } = rigFrom('let a = 1 s\nrig r {\nlet t = 2 s +- 100 ms in a .. 3 * a\ndoor d { travel t }\n}');
    expect(rig.choosable[0]).toMatchObject({ value: { min: 1_900_000 }, low: { nominal: 1_000_000 } });
    expect(rig.doors[0]!.opensIn.nominal).toBe(2_000_000);
  });

  it('a constant of the rig hides one of the file', () =>
    expect(ends('let t = 1 s in 1 s .. 2 s\nrig r {\nlet t = 5 s in 4 s .. 6 s\ndoor d { travel t }\n}')).toEqual([
      ['t', 'time', 4_000_000, 5_000_000, 6_000_000],
    ]));

  it('the place of the value is what a choice replaces', () => {
    const text = 'rig r {\nlet t = 1 s + 2 s in 1 s .. 9 s\ndoor d { travel t }\n}';
    const { valueAt } = rigFrom(text).rig.choosable[0]!;
    expect(text.slice(valueAt.start, valueAt.end)).toBe('1 s + 2 s');
  });

  it.each([
    ['let t = 4 s in 1 s .. 3 s', 'value/out-of-range "4 s": t is 4 s, outside its range 1 s .. 3 s.'],
    ['let t = 2 s in 3 s .. 1 s', 'value/conflict "3 s .. 1 s": The low end of this range is above its high end.'],
    ['let t = 2 s in 1 bar .. 3 bar', 'unit/dimension "1 bar": 1 bar is a pressure; a time is needed here.'],
    ['let t = 2 s in 1 .. 3 s', 'unit/missing "1": 1 has no unit; a time is needed here, such as 1 s.'],
    ['let t = 2 s in 3 s', 'syntax/expected "3 s": Expected a range after in, such as 50 ms .. 400 ms.'],
    ['let t = 2 s in', 'syntax/expected "in": Expected a range after in.'],
  ])('%s', (line, first) => expect(problemLines(`${line}\nrig r {\ndoor d { travel t }\n}`)[0]).toBe(first));

  it('a value from outside keeps to the range too', () => {
    const overrides = new Map([['t', parseExpression('4 s').expression]]);
    const text = 'let t = 2 s in 1 s .. 3 s\nrig r {\ndoor d { travel t }\n}';
    expect(rigFrom(text, { overrides, allow: ['value/out-of-range'] }).rig.choosable).toEqual([]);
  });

  it('a range inside a part has no effect, which is said', () =>
    expect(
      problemLines('part p() {\nlet t = 2 s in 1 s .. 3 s\ndoor d { travel t }\n}\nrig r {\nplace w = p()\n}')[0],
    ).toMatch(/^value\/no-effect .*parameter/));
});

const RIG = 'chamber c { volume 1 m3 }\nscenario noon { for 1 h }\n';

describe('prefer', () => {
  it('keeps the written order, direction, metric, arguments and scenario', () => {
    const { rig } = rigFrom(`rig r {\n${RIG}prefer least repeat()\nprefer most   rate(c) during noon\n}`);
    expect(rig.preferences.map((p) => [p.text, p.direction, p.metric, p.args.length, p.during])).toEqual([
      ['least repeat()', 'least', 'repeat', 0, null],
      ['most rate(c) during noon', 'most', 'rate', 1, 0],
    ]);
  });

  it.each([
    ['prefer repeat()', 'syntax/expected "repeat": Expected least or most after prefer, not repeat.'],
    ['prefer lowest repeat()', 'syntax/expected "lowest": prefer takes least or most, not lowest.'],
    ['prefer least repeat', 'value/not-a-metric'],
    ['prefer least', 'syntax/expected "least": Expected a metric such as repeat() after least.'],
    ['prefer least rate(d)', 'name/unknown "d": Nothing here is called d.'],
  ])('%s', (line, first) => expect(problemLines(`rig r {\n${RIG}${line}\n}`)[0]).toContain(first));

  it('is formatted like a requirement', () =>
    expect(formatText('rig r {\nprefer   least repeat( )\nlet t=2 s   in 1 s..3 s\n}\n').text).toBe(
      'rig r {\n  prefer least repeat()\n  let t = 2 s in 1 s .. 3 s\n}\n',
    ));

  it('may be names still', () => expect(parse('rig r {\ndoor prefer\ndrive prefer = on\n}').problems).toEqual([]));
});
