/** *Rig: New* and `caisson new bench` start from one text. */
import { expect, it, vi } from 'vitest';

vi.mock('vscode', () => ({ SnippetString: class {}, window: {}, workspace: {} }));

it('the snippet is the bench rig with places to fill in', async () => {
  const { NEW_RIG } = await import('../../client/src/new-rig');
  const { NEW_RIGS } = await import('../../server/core/report/new-rigs');
  const places = [...NEW_RIG.matchAll(/\$\{(\d+):([^}]*)\}/g)];
  expect([...new Set(places.map(([, number]) => number))]).toEqual(['1', '2', '3', '4', '5', '6', '7']);
  expect(NEW_RIG.replace(/\$\{\d+:([^}]*)\}/g, '$1')).toBe(NEW_RIGS.bench);
});
