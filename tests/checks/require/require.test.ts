/** Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { changed, GAS_BANK, look, problemsWith } from '../rigs';

const withRequirement = (requirement: string): string => GAS_BANK.replace(/\n\}\n$/, `\n  require ${requirement}\n}\n`);

describe('require/failed', () => {
  const text = withRequirement('gap(upper, lower) >= 400 ms');
  const [problem] = problemsWith(look(text), 'require/failed');

  it('is an error at the statement, with the timers as related places', () => {
    expect(problem!.severity).toBe('error');
    expect(text.slice(problem!.at.start, problem!.at.end)).toBe('require gap(upper, lower) >= 400 ms');
    expect(problem!.related!.map((r) => text.slice(r.at.start, r.at.end))).toEqual(['1.5 s', '2 s']);
  });

  it('offers what keeps the other requirements', () =>
    expect(problem!.fixes!.map((f) => f.title)).toEqual([
      'Shorten upper_on from 1.5 s to 1.25 s, so that the requirement holds',
    ]));

  it('names no more than the four times that widen the range most', () => {
    const loose = changed(
      GAS_BANK,
      ['response 50 ms', 'response 50 ms +- 5 ms'],
      ['TOF(start, 1.5 s)', 'TOF(start, 1.5 s +- 40 ms)'],
      ['TON(middle_on, 2 s)', 'TON(middle_on, 2 s +- 60 ms)'],
      ['travel 300 ms', 'travel 300 ms +- 20 ms'],
      ['door lower   { pocket 250 L  travel 300 ms', 'door lower   { pocket 250 L  travel 300 ms +- 30 ms'],
      ['gap(upper, lower) >= 100 ms', 'gap(upper, lower) >= 140 ms'],
    );
    const [problem] = problemsWith(look(loose), 'require/tolerance');
    expect(problem!.related!.map((r) => loose.slice(r.at.start, r.at.end))).toHaveLength(4);
  });

  it('is silent for what holds', () => expect(problemsWith(look(GAS_BANK), 'require/failed')).toEqual([]));
});

describe('require/undecided', () => {
  it('is a warning, never silence', () => {
    const still = changed(GAS_BANK, ['drive lower  = lower_on', 'drive lower  = lower_on and not run']);
    const undecided = problemsWith(look(still), 'require/undecided');
    expect(undecided.map((p) => `${p.severity}: ${p.message}`)).toEqual([
      'warning: gap(upper, lower) >= 100 ms is not decided: lower opens in no stroke. If a scenario brings it about, add during and the name of the scenario. It takes two changes to open lower: ready on and then run off.',
    ]);
  });
});
