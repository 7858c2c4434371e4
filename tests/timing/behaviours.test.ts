/** What happens when the trigger is lost or chatters, a switch is thrown or power goes: rigs that are sound only if it does not. */
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { analyseTiming } from '../../server/core/timing/analyse';
import type { Behaviour } from '../../server/core/timing/facts';
import { CTU, MS, S, SR, TOF, TON, TP, and, not, or, sketch, workedExample } from '../support/network';

function behaviour(rig: Rig, situation: Behaviour['situation']): Behaviour {
  return analyseTiming(rig).behaviours.find((b) => b.situation === situation)!;
}
const intervals = (b: Behaviour) => b.straightThrough.map(({ interval }) => [interval.from, interval.to]);

/** Upper stands open while the sensor is on; lower opens 1 s after it has gone, and stays. Each moves for 2 s. */
const lock = sketch({
  sensors: { full: 'above' },
  signals: { seen: SR('full', false), upper_on: 'full', lower_on: and('seen', TON(not('full'), 1 * S)) },
  doors: { upper: 2 * S, lower: 2 * S },
  drives: { upper: 'upper_on', lower: 'lower_on' },
  stacks: [['upper', 'lower']],
});

describe('trigger lost', () => {
  it('finds the moment at which both doors stand open together', () => {
    expect(intervals(behaviour(lock, 'held'))).toEqual([]);
    const lost = behaviour(lock, 'lost');
    // Fully open from 2 s on: closing takes 2 s, lower leaves shut 1 s after the loss.
    expect(lost.at).toBeGreaterThanOrEqual(2 * S);
    expect(intervals(lost)).toEqual([[1 * S, 2 * S]]);
    expect(lost).toMatchObject({ input: 'full', leftOpen: [1], settles: 3 * S });
  });

  it('a loss in the first instant is only a short pulse', () => {
    const rig = sketch({
      sensors: { full: 'above' },
      signals: { go: TON('full', 100 * MS), open: or(TP('go', S), 'open') },
      doors: { gate: 50 * MS },
      drives: { gate: 'open' },
      response: 10 * MS,
    });
    const lost = behaviour(rig, 'lost');
    // Lost before the on-delay has run out nothing opens; the worst is one after that.
    expect(lost.at).toBeGreaterThanOrEqual(100 * MS);
    expect(lost.leftOpen).toEqual([0]);
  });
});

describe('trigger chattering', () => {
  it('finds what only several flips do', () => {
    const rig = sketch({
      response: 10 * MS,
      sensors: { full: 'above' },
      signals: { first_on: TOF('full', 2 * S), second_on: CTU('full', false, 3) },
      doors: { first: 100 * MS, second: 100 * MS },
      drives: { first: 'first_on', second: 'second_on' },
      stacks: [['first', 'second']],
    });
    expect(intervals(behaviour(rig, 'held'))).toEqual([]);
    expect(intervals(behaviour(rig, 'lost'))).toEqual([]);
    const chatter = behaviour(rig, 'chatter');
    expect(chatter.straightThrough.length).toBeGreaterThan(0);
    expect(chatter.leftOpen).toEqual([1]);
    expect(chatter.tried).toBe(4);
  });
});

describe('switch thrown', () => {
  const rig = sketch({
    switches: { run: true, drain: false },
    sensors: { full: 'above' },
    signals: { upper_on: and('run', TP('full', S)), lower_on: or('drain', not('run')) },
    doors: { upper: 400 * MS, lower: 100 * MS },
    drives: { upper: 'upper_on', lower: 'lower_on' },
    stacks: [['upper', 'lower']],
  });
  const [run, drain] = analyseTiming(rig).behaviours.filter((b) => b.situation === 'switch');

  it('tells the worst moment of each switch', () => {
    // run off while upper is fully open: it needs 0.4 s to shut, lower opens at once.
    expect([run.input, intervals(run)]).toEqual(['run', [[0, 400 * MS]]]);
    expect(run.at).toBeGreaterThanOrEqual(400 * MS);
    expect(run.at).toBeLessThanOrEqual(1000 * MS);
    // drain on at the trigger: upper opens 0 … 1.4 s, and on for all of it.
    expect([drain.input, drain.at, intervals(drain)]).toEqual(['drain', 0, [[0, 1400 * MS]]]);
  });

  it('tells what stays open', () => {
    expect(run.leftOpen).toEqual([1]);
    expect(drain.leftOpen).toEqual([1]);
  });

  it('also without any trigger', () => {
    const manual = sketch({
      switches: { drain: false },
      signals: { on: 'drain' },
      doors: { gate: 100 * MS },
      drives: { gate: 'on' },
    });
    const thrown = behaviour(manual, 'switch');
    expect(thrown).toMatchObject({ input: 'drain', at: null, leftOpen: [0], settles: 100 * MS, tried: 4 });
    // Thrown at rest, and at three moments of the stroke that the switch itself starts.
  });
});

describe('power lost', () => {
  it('doors that rest open stand open together', () => {
    const rig = sketch({
      sensors: { full: 'above' },
      signals: { on: TP('full', S) },
      doors: { upper: { travel: 300 * MS, rest: 'open' }, lower: { travel: 200 * MS, rest: 'open' } },
      drives: { upper: 'on', lower: 'on' },
      stacks: [['upper', 'lower']],
    });
    const lost = behaviour(rig, 'power');
    expect(lost.leftOpen).toEqual([0, 1]);
    expect(intervals(lost)).toEqual([[0, null]]);
  });

  it('a sound rig shuts', () => {
    const lost = behaviour(workedExample(), 'power');
    expect(lost).toMatchObject({ leftOpen: [], straightThrough: [], settles: 300 * MS });
    expect(lost.tried).toBeGreaterThan(5);
  });

  it('one door slower than the other is open when the other, resting open, opens', () => {
    const rig = sketch({
      sensors: { full: 'above' },
      signals: { on: TP('full', S) },
      doors: { upper: 500 * MS, vent: { travel: 100 * MS, rest: 'open' } },
      drives: { upper: 'on', vent: 'never' },
      stacks: [['upper', 'vent']],
      switches: { never: false },
    });
    const lost = behaviour(rig, 'power');
    // Upper fully open at 0.5 … 1.0 s shuts 0.5 s after the loss; vent leaves shut at once.
    expect(intervals(lost)).toEqual([[0, 500 * MS]]);
    expect(lost.leftOpen).toEqual([1]);
  });
});

describe('no trigger', () => {
  it('tells what stands open although nothing happened', () => {
    const rig = sketch({
      switches: { run: true },
      signals: { upper_on: 'run', lower_on: 'run' },
      doors: { upper: 100 * MS, lower: 200 * MS },
      drives: { upper: 'upper_on', lower: 'lower_on' },
      stacks: [['upper', 'lower']],
    });
    const none = behaviour(rig, 'no-trigger');
    expect(none).toMatchObject({ leftOpen: [0, 1], settles: 200 * MS });
    expect(intervals(none)).toEqual([[0, null]]);
  });
});
