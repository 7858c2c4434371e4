/** What `flow` says of a chamber that is fed: that it keeps, fills, or that what strokes bring stays further on. */
import { describe, expect, it } from 'vitest';
import type { KeepUp } from '../../server/core/flow/facts';
import { flowTable } from '../../server/core/report/flow-table';
import { analyseRig } from '../../server/core/run/analyse';
import { keepUpVerdict, outcomeText } from '../../server/core/run/keep-up-words';
import { messagesOf } from '../checks/rigs';
import { rigOf } from '../support/rigs';

/** 255 L of air at 20 °C in three chambers, fed with 0.05 g/s: 0.05e-3 · 287.05 · 293.15 / 0.255 = 16.50 Pa/s = 0.594 bar an hour. */
const HOURLY = 0.594e5;

const rig = (more: string, { limit = '', stop = '' } = {}): string => `rig bottles "Bottles behind a bench" {
  medium air
  chamber receiver { volume 200 L  pressure 1.02 bar }
  chamber between  { volume 5 L    pressure 1.02 bar }
  chamber store    { volume 50 L   pressure 1.02 bar ${limit} }
  door upper { travel 200 ms }
  door lower { travel 200 ms }
  stack receiver > upper > between > lower > store
  feed compressor into receiver { rate 0.05 g/s }
  ${more}
  controller { response 20 ms }
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.2 bar }
  signal start    = ready and not hold ${stop}
  signal upper_on = TOF(start, 1 s)
  signal passing  = TOF(upper_on, 500 ms)
  signal lower_on = TP(TON(passing and not upper_on, 300 ms), 1 s)
  signal hold     = TOF(upper_on, 5 s)
  drive upper = upper_on
  drive lower = lower_on
}`;

function asked(text: string): { keepUp: KeepUp; words: string } {
  const facts = analyseRig(rigOf(text));
  const { keepUp } = facts.flow!.strokes[0]!;
  return { keepUp: keepUp!, words: `${outcomeText(facts.rig, keepUp!)}: ${keepUpVerdict(facts.rig, keepUp!)}` };
}

const rising = ({ rise }: KeepUp): number => ((rise!.to.pressure! - rise!.from.pressure!) / rise!.seconds) * 3600;

describe('a chamber that is fed, and a store that nothing is drawn from', () => {
  const { keepUp, words } = asked(rig(''));
  it('rises by what is fed to all of it, and does not settle', () => {
    expect(keepUp.capacity).toBeGreaterThan(keepUp.feed);
    expect(keepUp).toMatchObject({ keeps: false, settlesAt: null, because: { kind: 'not-drawn', chamber: 2 } });
    expect(rising(keepUp) / HOURLY).toBeCloseTo(1, 2);
  });
  it('says so', () => {
    expect(words).toMatch(
      /^it reaches 3\.4\d* bar by its end and is still rising, by 0\.59\d* bar an hour\. Nothing is drawn from store, and it stays there: they would keep up if as much were drawn$/,
    );
    const [message] = messagesOf(rig(''), 'flow/cannot-keep-up');
    expect(message).not.toMatch(/settles|instead|interval of/);
    expect(message).toContain('Draw as much from store as arrives');
  });
  it('names the limit that is passed in the end: (6 - 1.02) bar at 0.594 bar an hour', () => {
    const limited = asked(rig('', { limit: 'limit 6 bar' })).keepUp;
    expect(limited.rise!.limit!.chamber).toBe(2);
    expect(limited.rise!.limit!.at / 3600 / (4.98e5 / HOURLY)).toBeCloseTo(1, 1);
  });
});

describe('a store that is drawn from', () => {
  it('too little: it rises by the difference', () => {
    const { keepUp, words } = asked(rig('draw tools from store { rate 0.03 g/s }'));
    expect(keepUp).toMatchObject({ keeps: false, because: { kind: 'drawn-less', chamber: 2 } });
    expect(rising(keepUp) / (0.4 * HOURLY)).toBeCloseTo(1, 1);
    expect(words).toContain('More flows into store than is drawn from it');
  });
  it('as much as comes: it settles', () => {
    const { keepUp, words } = asked(rig('draw tools from store { rate 0.05 g/s  only above 1.05 bar }'));
    expect(keepUp).toMatchObject({ keeps: true, because: null, rise: null });
    expect(words).toMatch(/^it reaches at most 1\.\d+ bar: they keep up$/);
  });
});

it('strokes that a full store stops are not said to take too little: they stop, and the feed goes on', () => {
  const text = rig('sensor full on store { pressure above 2 bar  clears below 1.8 bar }', { stop: 'and not full' });
  const { keepUp, words } = asked(text);
  expect(keepUp).toMatchObject({ keeps: false, because: { kind: 'stopped', chamber: 0 } });
  expect(keepUp.capacity).toBeGreaterThan(keepUp.feed);
  expect(words).toMatch(
    /^strokes stop while its feed goes on, and it reaches .* by its end: they take enough while they run$/,
  );
  expect(messagesOf(text, 'flow/cannot-keep-up')[0]).toContain('Stop the feed with the strokes');
});

it('a limit below the threshold that starts strokes is passed too late, and is no lack of capacity', () => {
  const text = rig('draw tools from store { rate 0.05 g/s  only above 1.05 bar }').replace(
    'pressure 1.02 bar }',
    'pressure 1.02 bar  limit 1.4 bar }',
  );
  const { keepUp, words } = asked(text);
  expect(keepUp.capacity).toBeGreaterThan(keepUp.feed);
  expect(keepUp).toMatchObject({ keeps: false, because: { kind: 'late', chamber: 0 } });
  expect(words).toMatch(
    /^it passes its limit of 1\.4 bar, and reaches at most 1\.5 bar: they take enough there, but come too late$/,
  );
  expect(messagesOf(text, 'flow/cannot-keep-up')[0]).toContain('Start strokes earlier');
});

/** What the sentence says follows from the two rates printed before it. */
it.each([
  ['less', 1, 2, /DO NOT keep up/],
  ['stopped', 1, 2, /DO NOT keep up/],
  ['stopped', 2, 1, /take enough/],
  ['late', 2, 1, /take enough/],
  ['not-drawn', 2, 1, /would keep up/],
  ['drawn-less', 2, 1, /would keep up/],
] as const)('%s with strokes that take %d of %d', (kind, capacity, feed, words) => {
  const keepUp = { keeps: false, because: { kind, chamber: 0 }, capacity, feed, heldBy: [] as const } as unknown;
  expect(keepUpVerdict(rigOf(rig('')), keepUp as KeepUp)).toMatch(words);
});

it('a feed that its own condition stops is said to hold the chamber, and what strokes take beside it', () => {
  const fed = (rate: string): string =>
    rig('').replace('rate 0.05 g/s }', `rate ${rate}  only below 1.6 bar }`).replace('above 1.5', 'above 1.3');
  const { keepUp, words } = asked(fed('5 g/s'));
  expect(keepUp).toMatchObject({ keeps: true, heldBy: [0] });
  expect(keepUp.capacity).toBeLessThan(keepUp.feed);
  expect(words).toMatch(
    /^it reaches at most 1\.\d+ bar: held there by the condition of compressor \(only below 1\.6 bar\); strokes take less than it brings$/,
  );
});

/** 1 m³ and 500 L of air with three pockets between them, started by a switch: 5.35 kg that go nowhere. */
const closed = (more = ''): string => `rig closed {
  medium air
  chamber a { volume 1 m3    pressure 4 bar }
  chamber b { volume 500 L   pressure 1 bar }
  door upper  { pocket 100 L  clearance 1 L  travel 400 ms }
  door middle { pocket 100 L  clearance 1 L  travel 400 ms }
  door lower  { pocket 100 L  clearance 1 L  travel 400 ms }
  stack a > upper > middle > lower > b
  ${more}
  switch run = off
  sequence pass on run {
    at 0 s open upper, middle
    at 2 s close upper
    at 2.8 s open lower
    at 4 s close middle
    at 5.5 s close lower
    repeat after 8 s
  }
}`;

describe('a rig that a switch starts', () => {
  const table = (text: string): string => flowTable(analyseRig(rigOf(text))).join('\n');

  it('has no contents at a trigger, and no energy a kilogram where nothing is moved for good', () => {
    const { flow } = analyseRig(rigOf(closed()));
    expect(flow!.filling!.ended).toBe('steady');
    expect(flow!.filling!.working!.moved).toBe(0);
    expect(flow!.strokes[0]!.energy).toMatchObject({ obtained: 'followed', perKg: null });
    const text = table(closed());
    expect(text).not.toMatch(/trigger|feeds and draws|moved|With nothing coming in/);
    expect(text).toContain('In a stroke from the contents at the start');
  });

  it('shows what a draw that follows its chamber takes at the start', () => {
    // 3.6 m3/h as it stands at 4 bar and 293.15 K: 1e-3 · 4e5 / (287.05 · 293.15) = 4.754 g/s.
    expect(table(closed('draw user from a { rate actual 3.6 m3/h }'))).toMatch(
      /draw user +a +4\.75\d g\/s at the start/,
    );
  });
});
