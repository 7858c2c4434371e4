import { describe, expect, it } from 'vitest';
import { fitText, textWidth } from '../../server/core/diagram/kit/text-width';
import { roundStep, ticks, tickText, timeText } from '../../server/core/diagram/kit/time-text';

describe('times in pictures', () => {
  it.each([
    [0, '0 s'],
    [350, '350 us'],
    [250_000, '250 ms'],
    [1_750_000, '1.75 s'],
    [-50_000, '−50 ms'],
  ])('%d µs is %s', (us, text) => expect(timeText(us)).toBe(text));

  it.each([
    [1, 1],
    [3, 5],
    [60_000, 100_000],
    [12_000_000, 15_000_000],
    [100_000_000_000, 172_800_000_000],
  ])('the round step of at least %d is %d', (least, step) => expect(roundStep(least)).toBe(step));

  it('gives all ticks of a ruler one unit and as many decimals', () => {
    expect(ticks(-100_000, 600_000, 200_000).map((t) => tickText(t, 200_000))).toEqual([
      '0 s',
      '0.2 s',
      '0.4 s',
      '0.6 s',
    ]);
    expect(ticks(0, 3_000, 1_000).map((t) => tickText(t, 1_000))).toEqual(['0 ms', '1 ms', '2 ms', '3 ms']);
    expect(ticks(0, 120_000_000, 60_000_000).map((t) => tickText(t, 60_000_000))).toEqual(['0 min', '1 min', '2 min']);
  });

  it('has no two ticks of one text', () => {
    for (const step of [1, 2, 5, 20, 500, 5_000, 50_000, 200_000, 1_000_000, 15_000_000, 300_000_000]) {
      const texts = ticks(0, step * 12, step).map((t) => tickText(t, step));
      expect(new Set(texts).size, `step ${step}: ${texts.join(', ')}`).toBe(texts.length);
    }
  });
});

describe('widths of texts', () => {
  it('cuts with an ellipsis between whole characters', () => {
    const cut = fitText('👩‍🚒 upper door of the first stage', 13, 60);
    expect(cut.endsWith('…')).toBe(true);
    expect(textWidth(cut, 13)).toBeLessThanOrEqual(60);
    expect(cut).not.toMatch(/[\ud800-\udbff]…/);
  });

  it('leaves what fits', () => expect(fitText('upper', 13, 60)).toBe('upper'));
  it('counts full-width characters as wide', () =>
    expect(textWidth('扉', 10)).toBeGreaterThan(textWidth('a', 10) * 1.5));
});
