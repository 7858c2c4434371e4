/** Faults of a rig with a long scenario: following what its chambers hold counts by the moves of its doors, so the report ends within its work. */
import { expect, it } from 'vitest';
import { endOfFaults, faultReportWork } from '../../server/core/readings/faults';
import { analyseRig } from '../../server/core/run/analyse';
import { hardRigs } from '../support/hard-rigs';
import { rigOf } from '../support/rigs';

it('ends within what it may cost, and says how many it followed', () => {
  const facts = analyseRig(rigOf(hardRigs(0.01)['steps by the thousand']!.text));
  const work = faultReportWork(facts, 60_000);
  let steps = 0;
  let step = work.next();
  for (; !step.done; step = work.next()) steps++;
  const report = step.value!;
  expect(report.isCut).toBe(true);
  expect(report.left).toBeGreaterThan(0);
  expect(endOfFaults(facts.rig, report)).toMatch(/^\d+ of \d+ faults of steps were followed/);
  expect(steps).toBeLessThan(2_000);
});
