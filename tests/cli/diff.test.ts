/** `caisson diff` of files that hold several rigs: one that only one of them has is a difference. */
import { describe, expect, it } from 'vitest';
import { run } from './run';

const rig = (name: string): string => `rig ${name} {
  medium air
  chamber hall { volume 3 m3  pressure 1.2 bar }
  chamber room { volume 1 m3  pressure 1 bar }
  door flap { pocket 5 L  travel 200 ms }
  stack hall > flap > room
  controller { response 20 ms }
  switch ask = off
  drive flap = TP(ask, 900 ms)
}
`;
const files = { 'one.rig': rig('quay'), 'two.rig': rig('quay') + rig('yard'), 'other.rig': rig('quay') + rig('mole') };
const answer = async (old: string, now: string, format: string) => run(['diff', old, now, '--format', format], files);

describe('a rig that only one file has', () => {
  it.each([
    ['one.rig', 'two.rig', 'yard', 'added'],
    ['two.rig', 'one.rig', 'yard', 'removed'],
    ['two.rig', 'other.rig', 'mole', 'added'],
    ['two.rig', 'other.rig', 'yard', 'removed'],
  ])('from %s to %s: %s is %s', async (old, now, name, change) => {
    for (const format of ['text', 'md']) {
      const { code, out } = await answer(old, now, format);
      expect(code).toBe(1);
      expect(out).toContain(name);
      expect(out).toContain(change);
    }
    const { code, out } = await answer(old, now, 'json');
    const { rigs } = JSON.parse(out) as { rigs: { name: string; rows: { change: string }[] }[] };
    expect(code).toBe(1);
    expect(rigs.find((r) => r.name === name)!.rows.map((r) => r.change)).toEqual([change]);
    expect(rigs.find((r) => r.name === 'quay')!.rows).toEqual([]);
  });

  it('no more than that: the same file differs in nothing', async () => {
    const { code, out } = await answer('two.rig', 'two.rig', 'text');
    expect([code, out]).toEqual([0, 'quay: nothing differs.\n\nyard: nothing differs.\n']);
  });
});
