/**
 * Common practice, no source: off-delays of 1.5 s and 2.5 s on the first two doors, an on-delay of 2.7 s fed by the second, then an
 * off-delay of 1.0 s on the third, a hold-off of 10 s fed by the first and joined with the inverted sensor into an exclusive-or.
 */
import { describe, expect, it } from 'vitest';
import { codesOf, look, messagesOf, verdictOf } from './rigs';

/** The sensor is on while the receiver is low. */
const rig = (response: string, join: string): string => `rig practice {
  chamber receiver  { volume 6 m3  pressure 1.02 bar }
  chamber store     { volume 2 m3  pressure 1.02 bar }
  door first   { travel 0 s }
  door second  { travel 0 s }
  door third   { travel 0 s }
  stack receiver > first > second > third > store
  controller { response ${response} }
  sensor low on receiver { pressure below 1.3 bar  clears above 1.5 bar }
  signal inverted  = not low ${join}
  signal start     = inverted xor hold
  signal first_on  = TOF(start, 1.5 s)
  signal second_on = TOF(start, 2.5 s)
  signal third_on  = TOF(TON(second_on, 2.7 s), 1 s)
  signal hold      = TOF(first_on, 10 s)
  drive first  = first_on
  drive second = second_on
  drive third  = third_on
  require overlap(first, second) >= 1 s
}
`;

describe('common practice', () => {
  it('without response the third door never opens: the on-delay sees 2.5 s', () => {
    const text = rig('0 s', '');
    expect(codesOf(look(text))).toContain('timer/never-fires');
    expect(messagesOf(text, 'timer/never-fires')).toEqual([
      'third_on/TON never runs out: it waits 2.7 s and its input stays on for 2.5 s, 200 ms too short.',
    ]);
    expect(messagesOf(text, 'door/never-opens')).toEqual([
      'third opens in no stroke: third_on never comes on while the trigger holds.',
    ]);
  });

  it('with 100 ms per element, the joining line itself none, the on-delay has 100 ms to spare', () => {
    const text = rig('100 ms', 'responds 0 s');
    expect(messagesOf(text, 'timer/never-fires')).toEqual([]);
    expect(messagesOf(text, 'timer/thin-margin')).toEqual([]);
    expect(verdictOf(text, 'margin(third_on) = 100 ms').state).toBe('met');
    expect(verdictOf(text, 'opens_at(third) = 3.1 s').state).toBe('met');
    expect(verdictOf(text, 'shuts_at(third) = 4.2 s').state).toBe('met');
    expect(verdictOf(text, 'repeat() = 12.1 s').state).toBe('met');
    expect(messagesOf(text, 'cycle/repeat-differs')[0]).toContain('every 12.1 s');
  });
});
