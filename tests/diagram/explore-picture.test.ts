/** Pictures of an exploration take names as text. */
import { expect, it } from 'vitest';
import { explorePicture } from '../../server/core/diagram/explore/picture';

it('quotes and brackets of a name never become markup, nor end an attribute', () => {
  const row = (value: number) => ({ values: [value], measures: [value * 2], failed: 0 });
  const svg = explorePicture({
    axes: ['a"<b>'],
    measures: ['m & "n"'],
    rows: [row(1), row(2), row(3)],
    unbeaten: new Set(),
  });
  expect(svg).toContain('a&quot;&lt;b&gt;');
  expect(svg).not.toContain('a"<b>');
  expect(svg.match(/aria-label="([^"]*)"/)![1]).toContain('m &amp; &quot;n&quot;');
});
