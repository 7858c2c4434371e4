/** `caisson wire`: the statements for a sequence, verified against it; what cannot be wired is said in one sentence. */
import { describe, expect, it } from 'vitest';
import { run } from './run';

const PLAN = `rig lock {
  medium air
  chamber quay { volume 6 m3  pressure 1.1 bar }
  chamber hold { volume 2 m3  pressure 1 bar }
  door outer { pocket 10 L  travel 100 ms }
  door inner { pocket 10 L  travel 100 ms }
  stack quay > outer > inner > hold
  controller { response 40 ms }
  sensor ready on quay { pressure above 1.5 bar  clears below 1.3 bar }
  sequence plan on ready {
    at 0 s     open outer
    at 1.6 s   close outer
    at 2.1 s   open inner
    at 3.4 s   close inner
    repeat after 12 s
  }
}
`;

describe('caisson wire', () => {
  it.each(['response 40 ms', 'response 0 s', 'scan 20 ms'])(
    'gives a wiring that follows the sequence (%s)',
    async (style) => {
      const text = PLAN.replace('response 40 ms', style);
      const { code, out, err, written } = await run(['wire', '--apply', 'lock.rig'], { 'lock.rig': text });
      expect([code, err]).toEqual([0, expect.stringContaining('Verified: with TON, TP the doors follow plan.')]);
      expect(out).toContain('drive inner = ');
      const wired = String([...written.values()].at(-1));
      // Windows as written, counted from the first opening.
      const ask = async (question: string): Promise<number> =>
        JSON.parse((await run(['ask', '--json', 'w.rig', question], { 'w.rig': wired })).out).answers[0].values[0]
          .value;
      expect((await ask('opens_at(inner)')) - (await ask('opens_at(outer)'))).toBeCloseTo(2.1, 9);
      expect((await ask('closes_at(outer)')) - (await ask('opens_at(outer)'))).toBeCloseTo(1.6, 9);
      expect(await ask('repeat()')).toBeCloseTo(12, 9);
    },
  );

  it.each([
    [
      PLAN,
      ['--blocks', 'TOF,SR'],
      'plan cannot be wired: it needs TON and TP, or TOF and TON, which --blocks does not allow',
    ],
    [PLAN.replace(/ {2}sequence[\s\S]*?\n {2}\}\n/, ''), [], 'lock states no sequence to wire'],
    [PLAN.replace('repeat after 12 s', 'repeat after 3.41 s'), [], 'plan cannot be wired: the sequence repeats sooner'],
  ])('refuses in one sentence (%#)', async (text, more, message) => {
    const { code, err } = await run(['wire', 'lock.rig', ...more], { 'lock.rig': text });
    expect(code).toBe(2);
    expect(err).toContain(message);
  });
});
