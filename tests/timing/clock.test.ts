/** Rigs in which something switches by itself: which doors depend on it, and at which moment of it the trigger comes. */
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { timingTable } from '../../server/core/report/timing-table';
import { clockOf } from '../../server/core/timing/clock';
import { look } from '../checks/rigs';

const rig = (lines: string): string => `rig blink {
  medium air
  chamber a { volume 1 m3  pressure 1 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door u { pocket 10 L  travel 100 ms }
  door l { pocket 10 L  travel 100 ms }
  stack a > u > l > b
  controller { response 10 ms }
  sensor s on a { pressure above 3 bar  clears below 2.5 bar }
${lines}}
`;
const clock = (lines: string) => {
  const { rig: resolved, facts } = look(rig(lines)).contexts[0]!;
  const [stroke] = facts.timing.strokes;
  const found = clockOf(resolved, stroke!);
  return (
    found && {
      ...found,
      doors: found.doors.map((d) => resolved.doors[d]!.name),
      name: resolved.network.nets[found.next.net]!.name,
    }
  );
};

describe('what switches by itself', () => {
  it('is found with the doors that depend on it: on 1.2 s, off 0.8 s, two responses', () => {
    const blinking = 'signal blink = TON(not TOF(blink, 1.19 s), 780 ms)';
    const found = clock(`  ${blinking}\n  drive u = TP(s and blink, 300 ms)\n  drive l = TP(TON(s, 5 s), 300 ms)\n`);
    // TOF off 1.19 + 0.01 after blink goes off, blink on 0.78 + 0.01 later; off again 0.01 + 0.01 after that.
    expect(found).toMatchObject({ doors: ['u'], period: 2_010_000 });
  });

  it('a lamp that moves no door does not matter, nor does what the trigger starts', () => {
    expect(
      clock('  signal lamp = TON(not lamp, 1 s)\n  drive u = TP(s, 300 ms)\n  drive l = TP(TON(s, 1 s), 300 ms)\n'),
    ).toBeNull();
    expect(
      clock(
        '  signal beat = TON(s and not beat, 1 s)\n  drive u = TP(beat, 300 ms)\n  drive l = TP(TON(s, 1 s), 9 ms)\n',
      ),
    ).toBeNull();
  });

  it('is named above the times', () => {
    const blinking = 'signal blink = TON(not TOF(blink, 1.19 s), 780 ms)';
    const text = timingTable(
      look(rig(`  ${blinking}\n  drive u = TP(s and blink, 300 ms)\n  drive l = TP(TON(s, 5 s), 300 ms)\n`))
        .contexts[0]!.facts,
    );
    expect(text.find((line) => line.includes('by itself'))).toMatch(
      /^blink(\/TOF)? switches by itself every 2.01 s, and u depends on it: these are the times of a trigger that comes .* before blink(\/TOF)? goes (on|off)\. A trigger at another moment gives other times\.$/,
    );
  });

  const folder = join(__dirname, '../../samples');
  it.each(readdirSync(folder).filter((file) => file.endsWith('.rig')))('%s has none', (file) => {
    for (const { rig: resolved, facts } of look(readFileSync(join(folder, file), 'utf8')).contexts)
      expect(facts.timing.strokes.map((stroke) => clockOf(resolved, stroke))).toEqual(
        facts.timing.strokes.map(() => null),
      );
  });
});
