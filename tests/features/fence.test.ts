/** Pictures of fenced blocks: what is drawn, and that a block which would hold up all extensions gives one sentence instead. */
import { describe, expect, it } from 'vitest';
import { drawFence } from '../../server/core/features/fence';
import { LIFT } from './support';

const SENTENCE = /^<figcaption>Not drawn: [^<]+\.<\/figcaption>$/;

/** A grain lift whose control flickers: `extra` is what flickers. */
const flickering = (extra: string, response = '2 s'): string => `rig lift "Lift" {
  medium air
  chamber hopper { volume 4 m3  pressure 1.02 bar }
  chamber bin { volume 2 m3  pressure 1.02 bar }
  door inlet { pocket 4 L  travel 3 ms }
  stack hopper > inlet > bin
  controller { response ${response} }
  switch run = on
${extra}
}
`;
const repeated = (count: number, line: (k: number) => string): string =>
  Array.from({ length: count }, (_, k) => line(k)).join('\n');

describe('a fenced block', () => {
  it('is drawn, one picture a rig', () => {
    const drawn = drawFence(`${LIFT}\n${LIFT.replace('grain_lift', 'second')}`, 'a-')!;
    expect(drawn.match(/<svg/g)).toHaveLength(2);
    expect(drawn).not.toContain('Not drawn');
  });

  it('is left alone where it is a fragment', () => {
    expect(drawFence('let dwell = 2 s', 'a-')).toBeNull();
    expect(drawFence('rig r { door', 'a-')).toBeNull();
  });

  it.each([
    [
      'changes by the microsecond behind a slow answer',
      flickering(`  signal tick = TON(run and not tick, 2 us) responds 0 s
  signal tock = TON(run and not tock, 3 ms)
  drive inlet = tick xor tock`),
    ],
    [
      'falls quiet after a great many changes',
      flickering(
        `  signal tick = TON(run and not done and not tick, 1 ms) responds 0 s
  signal done = CTU(tick, not run, 50000)
  drive inlet = done`,
        '1 ms',
      ),
    ],
    ['has hundreds of inputs', flickering(`${repeated(120, (k) => `  switch s${k} = off`)}\n  drive inlet = run`)],
    [
      'has hundreds of elements',
      flickering(`${repeated(600, (k) => `  signal s${k} = TON(run, ${k + 1} ms)`)}\n  drive inlet = s1`),
    ],
    ['is as long as a file', `# ${'x'.repeat(20_000)}\n${LIFT}`],
  ])('that %s gives one sentence', (_, text) => {
    expect(drawFence(text, 'a-')).toMatch(SENTENCE);
  });

  it('follows no scenario: only the first picture is shown', () => {
    const days = LIFT.replace(/\}\s*$/, '  scenario season {\n    at 1 s  sensor full on\n    for 20 h\n  }\n}\n');
    expect(drawFence(days, 'a-')).toBe(drawFence(LIFT, 'a-'));
  });
});
