import { describe, expect, it } from 'vitest';
import { applyFix, changed, codesOf, GAS_BANK, look, messagesOf, problemsWith } from '../rigs';

describe('sensor/inverted', () => {
  const low = changed(
    GAS_BANK,
    ['pressure above 1.5 bar  clears below 1.3 bar', 'pressure below 1.3 bar  clears above 1.5 bar'],
    ['receiver  { volume 6 m3    pressure 1.02 bar', 'receiver  { volume 6 m3    pressure 1.6 bar'],
  );

  it('finds a rig that starts when its receiver runs empty', () =>
    expect(messagesOf(low, 'sensor/inverted')).toEqual([
      'The stroke starts when ready goes on, which is when receiver runs empty, though it takes from receiver.',
    ]));

  it('is about the edge, not about the word: inverted twice is sound', () => {
    const twice = changed(low, ['run and ready and', 'run and not ready and']);
    expect(codesOf(look(twice))).toEqual([]);
    const full = changed(
      GAS_BANK,
      ['run and ready and', 'run and not ready and'],
      ['receiver  { volume 6 m3    pressure 1.02 bar', 'receiver  { volume 6 m3    pressure 1.6 bar'],
    );
    expect(messagesOf(full, 'sensor/inverted')).toEqual([
      'The stroke starts when ready goes off, which is when receiver runs empty, though it takes from receiver.',
    ]);
  });

  it('finds a rig that starts when its store is full, and leaves one alone that starts when it runs low', () => {
    const store = (condition: string, start: string): string =>
      changed(
        GAS_BANK,
        ['ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }', `ready on store { ${condition} }`],
        ['store     { volume 1.5 m3  pressure 1.02 bar', `store     { volume 1.5 m3  pressure ${start}`],
      );
    expect(messagesOf(store('pressure above 6 bar  clears below 5 bar', '1.02 bar'), 'sensor/inverted')).toEqual([
      'The stroke starts when ready goes on, which is when store is full, though it delivers to store.',
    ]);
    expect(codesOf(look(store('pressure below 5 bar  clears above 6 bar', '7 bar')))).toEqual([]);
  });

  it('turns the sensor round, values and all', () => {
    const fixed = applyFix(low, problemsWith(look(low), 'sensor/inverted')[0]!.fixes![0]!);
    expect(fixed).toContain('{ pressure above 1.5 bar  clears below 1.3 bar }');
    const bare = changed(low, ['  clears above 1.5 bar', '']);
    expect(applyFix(bare, problemsWith(look(bare), 'sensor/inverted')[0]!.fixes![0]!)).toContain(
      '{ pressure above 1.3 bar }',
    );
  });
});

describe('sensor/chatter', () => {
  const bare = (sensor: string): string =>
    changed(GAS_BANK, ['{ pressure above 1.5 bar  clears below 1.3 bar }', sensor]);

  it('finds a sensor without hysteresis', () =>
    expect(messagesOf(bare('{ pressure above 1.5 bar }'), 'sensor/chatter')).toEqual([
      'ready has no hysteresis: it goes on and off at the same pressure, and chatters there.',
    ]));

  it('offers 5 % of the value, of the absolute one for gauge pressures', () => {
    const fixed = (sensor: string): string => {
      const text = bare(sensor);
      return applyFix(text, problemsWith(look(text), 'sensor/chatter')[0]!.fixes![0]!);
    };
    expect(fixed('{ pressure above 1.5 bar }')).toContain('{ pressure above 1.5 bar  clears below 1.425 bar }');
    // 0.5 barg is 1.51325 bar; 5 % of that is 0.0757 bar.
    expect(fixed('{ pressure above 0.5 barg }')).toContain('clears below 0.4243 barg }');
    expect(look(fixed('{ pressure above 0.5 barg }')).mistakes).toEqual([]);
  });

  it('is silent with min_on or min_off, behind a timer, or where it moves nothing', () => {
    expect(messagesOf(bare('{ pressure above 1.5 bar  min_on 2 s }'), 'sensor/chatter')).toEqual([]);
    const filtered = changed(
      bare('{ pressure above 1.5 bar }'),
      ['run and ready and', 'run and full and'],
      ['  signal start ', '  signal full = TON(ready, 2 s)\n  signal start '],
    );
    expect(codesOf(look(filtered))).toEqual([]);
    const idle = changed(GAS_BANK, [
      '  signal start ',
      '  sensor over on store { pressure above 9 bar }\n  require never(over and upper)\n  signal start ',
    ]);
    expect(codesOf(look(idle))).toEqual([]);
  });
});
