/** What is said: by its English text, with values in the order of the translation. */
import { afterEach, expect, it } from 'vitest';
import { say, speak } from '../../server/core/words/say';

afterEach(() => speak());

it('is English without a table, and for what a table lacks', () => {
  expect(say`${'upper'} opens`).toBe('upper opens');
  speak({ '{0} opens': '{0} öffnet' });
  expect(say`${'upper'} opens`).toBe('upper öffnet');
  expect(say`${'upper'} closes`).toBe('upper closes');
});

it('puts values where the translation has them, as they are', () => {
  speak({ '{0} to {1}': 'bis {1} ab {0}', 'at {0}': '{0}!{0}' });
  expect(say`${1} to ${'{0} $& \\'}`).toBe('bis {0} $& \\ ab 1');
  expect(say`at ${2}`).toBe('2!2');
});

it('does not take what every object has for a translation', () => {
  expect(say`constructor`).toBe('constructor');
  speak({});
  expect(say`toString`).toBe('toString');
});

it('leaves braces of a text alone', () => expect(say`{ ${'a'} } {7}`).toBe('{ a } {7}'));
