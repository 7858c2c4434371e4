/** `caisson tolerance`: what it says of requirements that tolerances say nothing of, and of the end of its search. */
import { describe, expect, it } from 'vitest';
import { run } from './run';

const RIG = `rig pair {
  medium air
  chamber receiver { volume 1 m3  pressure 1.1 bar }
  chamber store { volume 1 m3  pressure 1 bar }
  door first { pocket 10 L  travel 200 ms }
  door second { pocket 10 L  travel 200 ms }
  stack receiver > first > second > store
  controller { response 10 ms  timer_accuracy 2 % }
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.2 bar }
  signal first_on = TOF(R_TRIG(ready), 1 s)
  signal second_on = TOF(TON(first_on, 500 ms), 1 s)
  drive first = first_on
  drive second = second_on
  require opens_at(first) <= 10 s
  require window(first) <= 500 ms
  require stroke_mass(store) >= 1 g
}
`;

describe('requirements within tolerance', () => {
  it('says what it did not look at, and why', async () => {
    const { out } = await run(['tolerance', 'pair.rig', '--samples', '10'], { 'pair.rig': RIG });
    expect(out).toContain('not examined within tolerance: window(first) <= 500 ms: it does not hold at nominal times');
    expect(out).toContain('not examined within tolerance: stroke_mass(store) >= 1 g: it is about contents');
  });

  it('says so where it stands all that was tried', async () => {
    // The door opens 20 ms after the edge: half as much again is far from 10 s.
    const { out } = await run(['tolerance', 'pair.rig', '--samples', '10'], { 'pair.rig': RIG });
    expect(out).toContain('holds with every time off by up to 50 %, the most that is examined');
  });

  it('tells the same as data', async () => {
    const { out } = await run(['tolerance', '--json', 'pair.rig', '--samples', '10'], { 'pair.rig': RIG });
    const { rigs } = JSON.parse(out) as { rigs: { notLookedAt: { text: string }[] }[] };
    expect(rigs[0].notLookedAt.map((r) => r.text)).toEqual(['window(first) <= 500 ms', 'stroke_mass(store) >= 1 g']);
  });
});
