/** How far settings may be off is searched within a budget; those that it does not reach are named as not searched, never as free. */
import { expect, it } from 'vitest';
import { settingSlack } from '../../../server/core/report/sheet/setting-slack';
import { analyseRig } from '../../../server/core/run/analyse';
import { hardRigs } from '../../support/hard-rigs';
import { rigOf } from '../../support/rigs';

const NOT_SEARCHED = 'not searched: the search ended with its budget';

it('ends with its budget, and says of which settings', () => {
  const facts = analyseRig(rigOf(hardRigs(0.01)['steps by the thousand']!.text));
  const settings = facts.rig.network.elements.filter(({ preset }) => preset !== null).length;
  const unsearched = (edges: number): number =>
    [...settingSlack(facts, edges).values()].filter((text) => text === NOT_SEARCHED).length;
  expect(unsearched(0)).toBe(settings);
  const some = unsearched(6_000);
  expect(some).toBeGreaterThan(0);
  expect(some).toBeLessThan(settings);
});
