/** Findings stand below those that they may follow from, and name them. */
import { describe, expect, it } from 'vitest';
import { causesFirst } from '../../server/core/checks/causes';
import type { Problem } from '../../server/core/model/problem';
import { createDocument } from '../../server/core/document/document';
import { applyFix, look, problemsWith } from './rigs';

const HALL = (lower: string): string => `rig hall {
  medium air
  chamber line  { volume 3 m3  pressure 1 bar  limit 5 bar }
  chamber store { volume 2 m3  pressure 1 bar  limit 6 bar }
  door upper  { pocket 60 L  travel 300 ms }
  door middle { pocket 60 L  travel 300 ms }
  door lower  { pocket 60 L  travel 300 ms }
  stack line > upper > middle > lower > store
  feed fan into line { rate 0.4 kg/s }
  controller { response 20 ms }
  sensor full on line { pressure above 3 bar  clears below 2 bar }
  signal upper_on = TP(full, 2 s)
  signal middle_on = TP(TON(full, 500 ms), 2 s)
  signal lower_on = ${lower}
  drive upper = upper_on
  drive middle = middle_on
  drive lower = lower_on
}`;

const OPEN = HALL('TP(TON(full, 1 s), 2 s)');
/** The timer of lower waits for longer than its input lasts. */
const STUCK = HALL('TP(TON(TP(full, 1 s), 2 s), 1 s)');

const codesInOrder = (text: string): string[] =>
  createDocument({ uri: 'file:///hall.rig', version: 1, text }, () => undefined)
    .problems()
    .map((p) => p.code);

describe('findings with a common cause', () => {
  it('name it', () => {
    const looked = look(OPEN);
    const cause = (code: string) => problemsWith(looked, code).map((p) => p.related?.flatMap((r) => r.cause ?? []));
    expect(cause('flow/stalls')).toEqual([['door/straight-through']]);
    expect(cause('flow/over-limit')).toEqual([['door/straight-through', 'flow/stalls']]);
    expect(cause('door/straight-through')).toEqual([[]]);
  });

  it('name it only where it can be one: a time of doors does not follow from how the store fills', () => {
    const looked = look(OPEN.replace('  drive upper', '  require overlap(upper, middle) >= 5 s\n  drive upper'));
    const [failed] = problemsWith(looked, 'require/failed');
    expect(failed).toBeDefined();
    expect(failed?.related?.map((r) => r.cause)).not.toContain('flow/stalls');
    // What gets past the doors moves none of them; it changes how the store fills.
    expect(failed?.related?.map((r) => r.cause)).not.toContain('door/straight-through');
    const filling = look(OPEN.replace('  drive upper', '  require strokes_to(store, 3 bar) <= 2\n  drive upper'));
    const [short] = problemsWith(filling, 'require/failed');
    expect(short?.related?.map((r) => r.cause)).toContain('door/straight-through');
  });

  it('a pocket that nothing leaves follows from the door beside it that never opens', () => {
    const looked = look(STUCK);
    const cause = (code: string) => problemsWith(looked, code).map((p) => p.related?.flatMap((r) => r.cause ?? []));
    expect(cause('door/trapped-pocket')).toEqual([['door/never-opens']]);
  });

  it('stand below it, wherever their places are', () => {
    const codes = codesInOrder(OPEN);
    for (const code of ['flow/stalls', 'flow/over-limit']) {
      expect(codes.indexOf('door/straight-through')).toBeGreaterThanOrEqual(0);
      expect(codes.indexOf(code)).toBeGreaterThan(codes.indexOf('door/straight-through'));
    }
    const stuck = codesInOrder(STUCK);
    expect(stuck).toContain('timer/never-fires');
    expect(stuck.indexOf('door/never-opens')).toBeGreaterThan(stuck.indexOf('timer/never-fires'));
  });
});

const KILN = (signals: string, controller = 'response 15 ms'): string => `rig kiln {
  medium air
  chamber bunker { volume 3 m3   pressure 1.3 bar }
  chamber hearth { volume 500 L  pressure 1.01325 bar }
  chamber yard   { volume 500 L  pressure 1.01325 bar }
  door flap  { pocket 30 L  travel 120 ms }
  door slide { pocket 30 L  travel 80 ms }
  door gate  { pocket 30 L  travel 80 ms }
  stack bunker > flap > slide > hearth
  stack hearth > gate > yard
  controller { ${controller} }
  switch stop = off
  sensor ready on bunker { pressure above 2 bar  clears below 1.6 bar }
  ${signals}
  signal flap_on = TP(go, 700 ms)
  drive flap = flap_on
  drive slide = slide_on
  require repeat() in 1 s .. 10 s
}`;
const SLIDE = 'signal slide_on = TP(TON(flap_on, 1 s), 600 ms)';
const causesOf = (text: string, code: string): string[] =>
  problemsWith(look(text), code).flatMap((p) => p.related?.flatMap((r) => r.cause ?? []) ?? []);

describe('a stroke that does not repeat', () => {
  const slide = 'signal slide_on = TP(TON(TOF(go, 1 s), 900 ms), 600 ms)';
  const unread = (signal: string, controller?: string) =>
    KILN(`signal go = ready\n  ${slide}\n  ${signal}\n  require rate(hearth) >= 1 g/s`, controller);

  it.each([
    // go at 0; flap_on from 15 ms to 715 ms; hold ends 4 s and a response later, at 4.73 s; go comes again 15 ms after that.
    // busy is reset 3 s and a response after 715 ms, and goes off at 3.745 s; free is one response behind the timer inside it.
    ['a timer', 'signal hold = TOF(flap_on, 4 s)', 'response 15 ms', 'hold', '"and not hold"', '4.745 s'],
    [
      'a latch',
      'signal busy = SR(flap_on, TON(not flap_on, 3 s))',
      'response 15 ms',
      'busy',
      '"and not busy"',
      '3.76 s',
    ],
    ['a signal on at rest', 'signal free = not TOF(flap_on, 4 s)', 'response 15 ms', 'free', '"and free"', '4.76 s'],
  ])('names %s that nothing reads, with which it would', (_, signal, controller, name, words, interval) => {
    const text = unread(signal, controller);
    const looked = look(text);
    expect(looked.mistakes).toEqual([`name/unused: The signal ${name} is never used.`]);
    for (const code of ['require/failed', 'require/undecided']) {
      const [problem] = problemsWith(looked, code);
      const place = problem!.related!.find((r) => r.cause === 'name/unused');
      expect(text.slice(place!.at.start, place!.at.end)).toBe(name);
      expect(place!.message).toBe(
        `${name} moves nothing: if go read it (${words}), strokes would repeat every ${interval}.`,
      );
    }
    const fixed = applyFix(text, problemsWith(looked, 'require/failed')[0]!.fixes![0]!);
    const again = look(fixed);
    expect(again.mistakes).toEqual([]);
    expect(again.contexts[0]!.facts.timing.strokes[0]!.repeat).toBe(Math.round(1e6 * Number.parseFloat(interval)));
    expect(codesInOrder(text).indexOf('name/unused')).toBeLessThan(codesInOrder(text).indexOf('require/failed'));
  });

  it('does so in scanned style, and where the unread signal is read by a requirement only', () => {
    const scanned = unread('signal hold = TOF(flap_on, 4 s)', 'scan 10 ms');
    expect(causesOf(scanned, 'require/failed')).toEqual(['name/unused']);
    const required = scanned.replace('require repeat', 'require pulse(hold) >= 1 s\n  require repeat');
    const [failed] = problemsWith(look(required), 'require/failed');
    expect(failed!.related).toEqual([
      expect.objectContaining({ message: expect.stringMatching(/^hold moves nothing/) }),
    ]);
  });

  it('names none with which it would not either', () => {
    const text = unread('signal was_open = SR(flap_on, stop)');
    expect(look(text).mistakes).toEqual(['name/unused: The signal was_open is never used.']);
    const [failed] = problemsWith(look(text), 'require/failed');
    expect(failed!.related).toEqual([]);
    expect(failed!.message).toMatch(/the strokes do not repeat .*: go stays on because ready is held\.$/);
  });

  it('names the timer for which it waits', () => {
    const text = KILN(`signal go = ready and not busy
  ${SLIDE}
  signal busy = SR(flap_on, done)
  signal done = F_TRIG(slide_on)`);
    expect(causesOf(text, 'require/failed')).toEqual(['timer/never-fires', 'door/never-opens']);
    const [failed] = problemsWith(look(text), 'require/failed');
    expect(failed!.message).toContain(
      'go stays off because busy stays on, because done stays off, because slide_on stays off.',
    );
    // A timer of the same rig for which the start does not wait is not blamed.
    const other = text.replace('done)', 'stop)');
    expect(codesInOrder(other)).toContain('timer/never-fires');
    expect(causesOf(other, 'require/failed')).not.toContain('timer/never-fires');
  });
});

describe('a door that is driven twice', () => {
  const twice = KILN(`signal go = ready and not hold
  signal hold = TOF(flap_on, 4 s)
  signal slide_on = TP(TON(hold, 1 s), 600 ms)
  drive slide = go
  drive gate = TP(hold, 30 ms)
  require gap(flap, slide) >= 10 ms
  require window(gate) >= 1 s`);

  it('is named by what follows from it: what is not found with either drive alone', () => {
    expect(causesOf(twice, 'door/straight-through')).toEqual(['wire/two-drivers']);
    const [gap, window] = problemsWith(look(twice), 'require/failed');
    expect(gap!.related?.map((r) => r.cause)).toContain('wire/two-drivers');
    // The gate has a fault of its own.
    expect(window!.related?.map((r) => r.cause)).not.toContain('wire/two-drivers');
    const short = problemsWith(look(twice), 'door/too-short').find((p) => p.message.startsWith('gate'));
    expect(short!.related?.map((r) => r.cause)).not.toContain('wire/two-drivers');
  });

  it('is not named by what is found with either drive alone', () => {
    const both = twice.replace('TP(TON(hold, 1 s), 600 ms)', 'TP(TON(hold, 500 ms), 600 ms)');
    expect(causesOf(both, 'door/straight-through')).toEqual([]);
    expect(codesInOrder(both)).toContain('wire/two-drivers');
  });
});

describe('causesFirst', () => {
  const at = (start: number) => ({ uri: 'file:///a.rig', start, end: start + 1 });
  const problem = (code: string, start: number, ...causes: [string, number][]): Problem => ({
    code,
    severity: 'warning',
    message: code,
    at: at(start),
    related: causes.map(([cause, place]) => ({ at: at(place), message: '', cause })),
  });
  const order = (...problems: Problem[]): string =>
    causesFirst(problems)
      .map((p) => p.code)
      .join(' ');

  it('keeps the order of what has none, and pulls causes up before the first that follows', () => {
    expect(order(problem('a', 1), problem('b', 2))).toBe('a b');
    expect(order(problem('a', 1, ['d', 9]), problem('b', 2), problem('c', 3), problem('d', 9))).toBe('d a b c');
    expect(order(problem('a', 1, ['b', 2]), problem('b', 2, ['c', 3]), problem('c', 3))).toBe('c b a');
  });

  it('keeps every problem once, also where a cause is not in the list or two name each other', () => {
    expect(order(problem('a', 1, ['gone', 5]))).toBe('a');
    expect(order(problem('a', 1, ['b', 2]), problem('b', 2, ['a', 1]))).toBe('b a');
  });
});
