/**
 * Energy a day of a rig with two periods: by continuity, what a day costs is what a kilogram costs times what the feed brings in a day.
 * Two periods with no common one within reach have no such figure, and the reason is given.
 */
import { expect, it } from 'vitest';
import { flowJson } from '../../server/core/report/flow-json';
import { flowTable } from '../../server/core/report/flow-table';
import { look } from '../checks/rigs';

/** A pump every 10 s and a valve of a period of its own; what the feed brings leaves by the draw. */
const factsOf = (vent: string) =>
  look(`rig two_periods {
  medium air
  chamber a { volume 1 m3  pressure 3 bar }
  chamber b { volume 500 L  pressure 1 bar }
  chamber c { volume 300 L  pressure 1 bar }
  door upper { pocket 100 L  clearance 1 L  travel 400 ms  bore 80 mm }
  door middle { pocket 100 L  clearance 1 L  travel 400 ms  bore 80 mm }
  door lower { pocket 100 L  clearance 1 L  travel 400 ms  bore 80 mm }
  door out { travel 400 ms  bore 20 mm }
  stack a > upper > middle > lower > b
  stack b > out > c

  sensor go on a { pressure above 1.5 bar  clears below 1.2 bar }
  feed comp into a { rate 40 g/s only below 4 bar }
  draw use from c { rate 80 g/s only above 1.1 bar }
  sequence pass on go {
    at 0 s open upper, middle
    at 2 s close upper
    at 2.8 s open lower
    at 4 s close middle
    at 5.5 s close lower
    repeat after 10 s
  }

  sequence vent on go {
    at 1 s open out
    at 3 s close out
    repeat after ${vent} }
}`).contexts[0]!.facts;

it('is that of both periods together, 70 s for 10 s and 7 s', () => {
  const { energy, interval } = flowJson(factsOf('7 s')).strokes[0]!;
  expect(energy.obtained).toBe('followed');
  expect(interval).toBe(10);
  // 40 g/s come in for good (the vessel stays below 4 bar), and a stroke begins every 10 s.
  expect(energy.perDay! / (energy.perKg! * 0.04 * 86_400)).toBeCloseTo(1, 3);
  expect(energy.perDay! / (energy.perStroke.total! * 8640)).toBeCloseTo(1, 6);
});

it('is not given for 10 s beside √50 s, and the reason is', () => {
  const facts = factsOf('7.071068 s');
  expect(flowJson(facts).strokes[0]!.energy.perDay).toBeNull();
  expect(flowTable(facts).join('\n')).toMatch(/no figure a day: .*no pattern that repeats/);
});
