/** Findings stand below those that they may follow from, and name them. */
import { describe, expect, it } from 'vitest';
import { causesFirst } from '../../server/core/checks/causes';
import type { Problem } from '../../server/core/model/problem';
import { createDocument } from '../../server/core/document/document';
import { look, problemsWith } from './rigs';

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
