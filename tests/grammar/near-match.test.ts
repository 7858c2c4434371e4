import { describe, expect, it } from 'vitest';
import { editDistance, nearMatch } from '../../grammar/src/near-match';

describe('editDistance', () => {
  it.each([
    ['', 'abc', 3],
    ['door', 'door', 0],
    ['doro', 'door', 1],
    ['dor', 'door', 1],
    ['doors', 'door', 1],
    ['dour', 'door', 1],
    ['kitten', 'sitting', 3],
  ])('%s to %s takes %i', (a, b, edits) => {
    expect(editDistance(a, b)).toBe(edits);
    expect(editDistance(b, a)).toBe(edits);
  });
});

describe('nearMatch', () => {
  const words = ['door', 'draw', 'chamber', 'scenario'];
  it('finds the nearest, capitals aside', () => {
    expect(nearMatch('doro', words)).toBe('door');
    expect(nearMatch('Chamber', words)).toBe('chamber');
    expect(nearMatch('senario', words)).toBe('scenario');
  });
  it('finds none where nothing is near, and none for one letter', () => {
    expect(nearMatch('valve', words)).toBeNull();
    expect(nearMatch('dxyr', words)).toBeNull();
    expect(nearMatch('x', ['y'])).toBeNull();
  });
});
