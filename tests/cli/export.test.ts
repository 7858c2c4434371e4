/** `caisson export`: what cannot be exported is one sentence, and nothing is written; what can be is all there. */
import { describe, expect, it } from 'vitest';
import { run } from './run';

const rig = (control: string): string => `rig bench {
  medium air
  chamber above { volume 1 m3 }
  chamber below { volume 1 m3 }
  door upper { pocket 10 L  travel 200 ms }
  door lower { pocket 10 L  travel 200 ms }
  stack above > upper > lower > below
  controller { response 40 ms }
${control}
}
`;

const SOUND = `  switch run = off
  signal pulse = TP(run, 900 ms)
  drive upper = pulse
  drive lower = F_TRIG(pulse)`;

const SPOILT: Readonly<Record<string, [control: string, sentence: RegExp]>> = {
  'an error in the text': [
    SOUND.replace('900 ms', '900 mm'),
    /the text has errors: bench\.rig:\d+:\d+: unit\/dimension/,
  ],
  'a name that is not there': [SOUND.replace('TP(run', 'TP(ran'), /name\/unknown/],
  'a loop that never settles': [
    `  signal a = not a responds 0 s\n  drive upper = a\n  drive lower = a`,
    /wire\/loop-never-settles/,
  ],
  'no control': ['', /bench has no control/],
};

const TARGETS = ['c', 'st', 'verilog', 'dot'];

describe.each(Object.entries(SPOILT))('a rig with %s', (_, [control, sentence]) => {
  it.each(TARGETS)('is not exported to %s', async (to) => {
    const { code, out, err, written } = await run(
      ['export', 'bench.rig', '--to', to, '--out', to === 'verilog' ? 'x.v' : `x.${to}`],
      {
        'bench.rig': rig(control),
      },
    );
    expect({ code, out, written: written.size }).toEqual({ code: 1, out: '', written: 0 });
    expect(err).toMatch(/^Nothing is exported: [^\n]*\n$/);
    expect(err).toMatch(sentence);
  });
});

it.each(TARGETS)(
  'a rig whose text has no errors is exported to %s with the caution and a count of its findings',
  async (to) => {
    const { code, out, err, written } = await run(
      ['export', 'bench.rig', '--to', to, '--out', to === 'c' ? 'made' : '-'],
      {
        'bench.rig': rig(SOUND),
      },
    );
    expect(code).toBe(0);
    expect(err).toMatch(/^caisson: The check finds 1 error and 2 warnings in this rig: [^\n]*\n$/);
    const texts = to === 'c' ? [...written.values()] : [out];
    expect(texts).toHaveLength(to === 'c' ? 3 : 1);
    for (const text of texts)
      expect(String(text).replace(/\n \* |\n\/\/ |\n {2}/g, ' ')).toContain('licensed practitioner decide');
  },
);

it('says which targets there are', async () => {
  const { code, err } = await run(['export', 'bench.rig', '--to', 'pascal'], { 'bench.rig': rig(SOUND) });
  expect(code).toBe(2);
  expect(err).toBe('caisson: --to is one of c, st, verilog, dot, not pascal.\n');
});
