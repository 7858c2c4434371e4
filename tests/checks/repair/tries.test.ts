/** How many presets may be tried for one rig: counted down, never more than six for one finding, and refused once used up. */
import { expect, it } from 'vitest';
import type { CheckContext } from '../../../server/core/checks/check';
import { mayNotTry } from '../../../server/core/checks/repair/preset-fix';

const context = (left?: number) => (left === undefined ? {} : { tries: { left } }) as CheckContext;

it('tries are taken off what is left', () => {
  const some = context(8);
  expect(mayNotTry(some, 3)).toBe(false);
  expect(some.tries!.left).toBe(5);
  expect(mayNotTry(some, 100)).toBe(false);
  expect(some.tries!.left).toBe(-1);
  expect(mayNotTry(some, 1)).toBe(true);
  expect(some.tries!.left).toBe(-1);
});

it('a context without a count may try', () => expect(mayNotTry(context(), 100)).toBe(false));
