import { finish } from '../../server/core/work/work';
import { describe, expect, it } from 'vitest';
import type { Requirement } from '../../server/core/model/rig';
import { rewritten } from '../../server/core/choose/edit';
import { withTime } from '../../server/core/choose/literals';
import { meetingChanges } from '../../server/core/choose/meet';
import { readableTime, searchChange } from '../../server/core/choose/search';
import { applyFix, changed, codesOf, GAS_BANK, look, problemsWith } from '../checks/rigs';

const contextOf = (text: string) => look(text).contexts[0]!;

describe('rewritten', () => {
  it.each([
    ['1.6 s', 1_350_000, '1.35 s'],
    ['1600 ms', 1_350_000, '1350 ms'],
    ['1600ms', 1_350_000, '1350ms'],
    ['2 min', 90_000_000, '1.5 min'],
    // 100 s is no short decimal of minutes: another unit, exact.
    ['2 min', 100_000_000, '100 s'],
    ['2 s +- 10 ms', 1_900_000, '1.9 s +- 10 ms'],
    ['2 s +- 5 %', 2_000_001, '2.000001 s +- 5 %'],
    ['settle', 1_900_000, null],
    ['settle + 1 s', 1_900_000, null],
    ['1 s + settle', 1_900_000, null],
    ['3 bar', 1_900_000, null],
  ])('%s → %d us: %s', (written, value, text) => expect(rewritten(written, value)).toBe(text));
});

describe('readableTime', () => {
  it.each([
    // Away from the old value: up when longer, down when shorter.
    [1_234_567, 1_000_000, 1_240_000],
    [1_234_567, 2_000_000, 1_230_000],
    [12_345_678, 20_000_000, 12_300_000],
    [45_678, 10_000, 46_000],
    [45_678, 90_000, 45_000],
  ])('%d us (was %d) → %d', (value, old, readable) => expect(readableTime(value, old)).toBe(readable));
});

describe('searchChange', () => {
  const { rig } = contextOf(GAS_BANK);
  const element = rig.network.elements.find((e) => e.name === 'upper_on')!;
  const literal = { at: element.preset!.at, value: element.preset!.nominal, name: 'upper_on' };
  const gapAtLeast = (us: number) => (facts: ReturnType<typeof contextOf>['facts']) =>
    (facts.timing.strokes[0]!.pairs[1]!.gap ?? -1) >= us;

  it('finds the preset for a gap exactly: 150 ms + 123 ms more, readable', () => {
    // To the millisecond that is 1.377 s; made readable, 1.37 s.
    expect(searchChange(rig, literal, 'shorter', gapAtLeast(273_000))!.value).toBe(1_370_000);
  });

  it('gives up where nothing helps', () => {
    expect(searchChange(rig, literal, 'longer', gapAtLeast(273_000))).toBeNull();
    expect(searchChange(rig, literal, 'shorter', gapAtLeast(273_000), 1_400_000)).toBeNull();
  });
});

describe('withTime', () => {
  it('changes everything that takes its time from the place, tolerance kept', () => {
    const text = changed(
      GAS_BANK,
      ['rig gas_bank {', 'part pause(t) {\n  signal out = TOF(run, t)\n  switch run = on\n}\n\nrig gas_bank {'],
      ['  controller', '  place a = pause(3 s +- 100 ms)\n  controller'],
    );
    const { rig } = contextOf(text);
    const { preset } = rig.network.elements.find((e) => e.name.endsWith('a.out'))!;
    const after = withTime(rig, preset!.at, 2_000_000).network.elements.find((e) => e.name.endsWith('a.out'))!.preset!;
    expect([after.nominal, after.min, after.max]).toEqual([2_000_000, 1_900_000, 2_100_000]);
  });
});

describe('meetingChanges', () => {
  const tuned = (...changes: readonly (readonly [string, string])[]): string[] => {
    const { facts } = contextOf(changed(GAS_BANK, ...changes));
    const failed = (r: Requirement): string[] =>
      finish(meetingChanges(facts, r)).map((c) => `${c.literal.name} ${c.value / 1e6} s`);
    return facts.rig.requirements.flatMap(failed);
  };

  it('finds gaps, overlaps, repeats and margins by arithmetic, breaking no other requirement', () => {
    // Upper may close 250 ms earlier; the on-delay may not come later, or middle and lower would hardly overlap.
    expect(tuned(['>= 100 ms', '>= 400 ms'])).toEqual(['upper_on 1.25 s']);
    // Middle and lower: 250 ms now, 300 to 400 wanted; middle 50 ms later, or lower 50 ms earlier.
    expect(tuned(['overlap(middle, lower) >= 50 ms', 'overlap(middle, lower) in 300 ms .. 400 ms'])).toEqual([
      'middle_on 2.55 s',
      'lower_on/TON 1.95 s',
    ]);
    expect(tuned(['repeat() in 10 s .. 15 s', 'repeat() in 10 s .. 11 s'])).toEqual(['hold 9.2 s']);
    expect(tuned(['require repeat() in 10 s .. 15 s', 'require margin(lower_on) >= 700 ms'])).toEqual([
      'lower_on/TON 1.95 s',
    ]);
  });

  it('finds an order by search', () =>
    // Lower must be shut before middle closes: impossible within three times any preset, so nothing is offered.
    expect(tuned(['require repeat() in 10 s .. 15 s', 'require order(lower shuts, middle closes)'])).toEqual([]));

  it('offers nothing for what holds', () => expect(tuned()).toEqual([]));
});

describe('fixes for failed requirements', () => {
  it('are made and looked at again', () => {
    const text = changed(GAS_BANK, ['overlap(middle, lower) >= 50 ms', 'overlap(middle, lower) in 300 ms .. 400 ms']);
    const [problem] = problemsWith(look(text), 'require/failed');
    expect(problem!.fixes!.length).toBe(2);
    for (const fix of problem!.fixes!) expect(codesOf(look(applyFix(text, fix))), fix.title).toEqual([]);
  });
});
