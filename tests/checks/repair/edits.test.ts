/** Repairs in texts of every shape: line ends, comments, parts, constants, one line. Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { applyFix, changed, codesOf, GAS_BANK, look, messagesOf, problemsWith } from '../rigs';

const LAPPED = changed(
  GAS_BANK,
  ['  require gap(upper, lower) >= 100 ms\n', ''],
  ['TON(middle_on, 2 s)', 'TON(middle_on, 1.75 s)'],
);

const titled = (text: string, code: string, start: string): string => {
  const fix = problemsWith(look(text), code)
    .flatMap((p) => p.fixes ?? [])
    .find((f) => f.title.startsWith(start));
  if (!fix) throw new Error(`no fix ${start}`);
  return applyFix(text, fix);
};
const apart = (text: string): string => titled(text, 'door/overlap', 'State that');

describe('a new statement', () => {
  it('stands on its own line after the last requirement', () =>
    expect(apart(LAPPED)).toContain('  require repeat() in 10 s .. 15 s\n  require gap(upper, lower) >= 100 ms\n}'));

  it('keeps CRLF', () => {
    const fixed = apart(LAPPED.replaceAll('\n', '\r\n'));
    expect(fixed).toContain('15 s\r\n  require gap(upper, lower) >= 100 ms\r\n}');
    expect(fixed.replaceAll('\r\n', '')).not.toContain('\n');
  });

  it('keeps tabs, and a comment at the end of the line where it is', () => {
    const text = LAPPED.replaceAll('\n  ', '\n\t').replace('.. 15 s', '.. 15 s # as agreed');
    expect(apart(text)).toContain(
      '\trequire repeat() in 10 s .. 15 s # as agreed\n\trequire gap(upper, lower) >= 100 ms\n}',
    );
  });

  it('goes before a closing brace on the same line', () => {
    const text = LAPPED.replace('.. 15 s\n}', '.. 15 s }');
    const fixed = apart(text);
    expect(fixed).toMatch(/15 s\n {2}require gap\(upper, lower\) >= 100 ms\s*\}/);
    expect(look(fixed).mistakes).toEqual([]);
    expect(messagesOf(fixed, 'door/overlap')).toEqual([]);
  });

  it('goes after the drives where nothing is required yet', () => {
    const text = LAPPED.replace(/ {2}require.*\n/g, '');
    const fixed = titled(text, 'cycle/repeat-differs', 'State that');
    expect(fixed).toContain('  drive lower  = lower_on\n  require repeat() = 11.8 s +- 5 %\n');
  });
});

describe('long times', () => {
  it('are written as one literal: 1.8 s, 60.05 s and 130.05 s, 3 min 11.9 s, is 191.9 s', () => {
    const slow = changed(
      GAS_BANK,
      ['TOF(upper_on, 10 s)', 'TOF(TOF(upper_on, 60 s), 130 s)'],
      ['  require repeat() in 10 s .. 15 s\n', ''],
    );
    const fixed = titled(slow, 'cycle/repeat-differs', 'State that');
    expect(fixed).toContain('require repeat() = 191.9 s +- 5 %');
    expect(look(fixed).mistakes).toEqual([]);
  });
});

describe('items of parts', () => {
  const parts = `part bank(source, target, go, wait) {
  door upper   { pocket 250 L  travel 300 ms }
  door middle  { pocket 250 L  travel 300 ms }
  door lower   { pocket 250 L  travel 300 ms }
  stack source > upper > middle > lower > target
  signal middle_on = TOF(go, 2.5 s)
  drive upper  = TOF(go, 1.5 s)
  drive middle = middle_on
  drive lower  = TOF(TON(middle_on, wait), 1 s)
  require overlap(upper, middle) >= 1 s
  require overlap(middle, lower) >= 50 ms
}

rig two_banks {
  medium methane
  chamber receiver  { volume 6 m3    pressure 1.02 bar }
  chamber store     { volume 1.5 m3  pressure 1.02 bar }
  controller { response 50 ms }
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }
  signal start = ready and not hold
  signal hold  = TOF(start, 12 s)
  place a = bank(receiver, store, start, 1.75 s)
  place b = bank(receiver, store, start, 2 s)
  require gap(b.upper, b.lower) >= 100 ms
  require repeat() in 10 s .. 15 s
}
`;

  it('are named with their place, and the statement stands in the rig', () => {
    const looked = look(parts);
    expect(looked.mistakes).toEqual([]);
    expect(problemsWith(looked, 'door/overlap').map((p) => p.message.slice(0, 20))).toEqual(['a.upper and a.lower ']);
    const fixed = apart(parts);
    expect(fixed).toContain('  require repeat() in 10 s .. 15 s\n  require gap(a.upper, a.lower) >= 100 ms\n}');
    expect(look(fixed).mistakes).toEqual([]);
  });

  // start is on 0.05-0.15 s, upper shut at 0.15 + 1.5 + 0.05 + 0.3 = 2.00 s, lower off its seat at 0.10 + 1.75 + 0.1 = 1.95 s:
  // 50 ms together, 100 ms apart wanted.
  it('a preset given as an argument is changed at the place', () => {
    const fixed = titled(parts, 'door/overlap', 'Lengthen');
    expect(fixed).toContain('place a = bank(receiver, store, start, 1.9 s)');
    expect(codesOf(look(fixed))).toEqual([]);
  });

  it('a preset inside the part changes both places, and is tried so', () => {
    const fixed = titled(parts, 'door/overlap', 'Shorten');
    expect(fixed).toContain('drive upper  = TOF(go, 1.35 s)');
    expect(codesOf(look(fixed))).toEqual([]);
  });
});
