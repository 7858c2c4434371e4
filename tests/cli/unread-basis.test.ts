/** Of what a requirement rests on, every way to be unreadable leaves it open: in the list of values, in answers, JUnit and SARIF. */
import { describe, expect, it } from 'vitest';
import { run } from './run';

const WHOLE = `rig cellar {
  medium air
  let brought = 2 g/s
  chamber tank   { volume 300 L  pressure 1.7 bar }
  chamber bottle { volume 60 L   pressure 1.02 bar }
  door inner  { pocket 4 L  clearance 100 mL  travel 200 ms }
  door middle { pocket 4 L  clearance 100 mL  travel 200 ms }
  door outer  { pocket 4 L  clearance 100 mL  travel 200 ms }
  stack tank > inner > middle > outer > bottle
  feed compressor into tank { rate brought  only below 2 bar }
  controller { response 20 ms }
  switch run = on
  sensor ready on tank { pressure above 1.6 bar  clears below 1.4 bar }
  signal start     = run and ready and not hold
  signal middle_on = TOF(start, 2.1 s)
  signal hold      = TOF(middle_on, 4 s)
  drive inner  = TOF(start, 1.2 s)
  drive middle = middle_on
  drive outer  = TOF(TON(middle_on, 1.7 s), 900 ms)
  require overlap(inner, middle) >= 800 ms
  require gap(inner, outer) >= 150 ms during noon
  require peak(bottle) <= 5 bar during noon
  require stroke_mass(bottle) >= 1 g
  scenario noon {
    at 0 s    feed compressor on
    at 1 min  feed compressor off
    for 5 min
  }
}
`;
const STROKE = 'overlap(inner, middle) >= 800 ms';
const DURING = ['gap(inner, outer) >= 150 ms during noon', 'peak(bottle) <= 5 bar during noon'];
const FLOW = 'stroke_mass(bottle) >= 1 g';

/** What is changed, and the requirements that nothing is known of then. */
const BROKEN: readonly (readonly [string, string, string, readonly string[]])[] = [
  ['the name in a step', '1 min  feed compressor', '1 min  feed compresor', DURING],
  ['the order of words in a step', '1 min  feed compressor off', '1 min  feed off compressor', DURING],
  ['the kind of a step', '1 min  feed', '1 min  pump', DURING],
  ['the state of a step', 'compressor off', 'compressor of', DURING],
  ['the time of a step', '1 min', '1 mnn', DURING],
  ['how long it lasts', 'for 5 min', 'for 5 mnn', DURING],
  ['the rate of a feed', 'rate brought', 'rate 2 g/ss', [...DURING, FLOW]],
  ['a constant behind the rate of a feed', '2 g/s', '2 g/ss', [...DURING, FLOW]],
  ['the condition of a feed', 'below 2 bar', 'below 2 baar', [...DURING, FLOW]],
  ['the chamber of a feed', 'into tank', 'into tnk', [...DURING, FLOW]],
  ['the volume of a chamber', '60 L ', '60 LL ', [...DURING, FLOW]],
  ['the pocket of a door', 'middle { pocket 4 L', 'middle { pocket 4 s', [...DURING, FLOW]],
  ['the medium', 'medium air', 'medium airr', [...DURING, FLOW]],
  ['a value of the medium', 'medium air', 'medium air { temperature 20 m }', [...DURING, FLOW]],
  ['the air outside', 'medium air', 'atmosphere { pressure 1 m }\n  medium air', [...DURING, FLOW]],
];

const broken = (from: string, to: string): Record<string, string> => {
  const text = WHOLE.replace(from, to);
  if (text === WHOLE) throw new Error(`nothing reads ${from}`);
  return { 'a.rig': text };
};

const states = (json: string): Record<string, string> =>
  Object.fromEntries(
    (JSON.parse(json) as { requirements: { text: string; state: string }[] }).requirements.map((r) => [
      r.text,
      r.state,
    ]),
  );

describe('what a requirement rests on', () => {
  it('holds where all of it is read', async () => {
    const { out } = await run(['check', '--values', '--format', 'json', 'a.rig'], { 'a.rig': WHOLE });
    expect(states(out)).toEqual(Object.fromEntries([STROKE, ...DURING, FLOW].map((text) => [text, 'met'])));
  });

  it.each(BROKEN)('leaves it open where %s cannot be read', async (_, from, to, open) => {
    const files = broken(from, to);
    const { out } = await run(['check', '--values', '--format', 'json', 'a.rig'], files);
    const expected = [STROKE, ...DURING, FLOW].map((text) => [text, open.includes(text) ? 'undecided' : 'met']);
    expect(states(out)).toEqual(Object.fromEntries(expected));
    // The mistake is the one error that is reported: nothing follows from what was left of the text.
    const { findings } = JSON.parse(out) as { findings: { code: string; severity: string }[] };
    expect(findings.filter(({ severity }) => severity === 'error').length).toBe(1);
    expect(findings.filter(({ code }) => code.startsWith('require/') || code === 'flow/value')).toEqual([]);
  });

  it.each(BROKEN)('and so in JUnit, SARIF and an answer: %s', async (_, from, to, open) => {
    const files = broken(from, to);
    const junit = await run(['check', '--values', '--format', 'junit', 'a.rig'], files);
    const sarif = await run(['check', '--values', '--format', 'sarif', 'a.rig'], files);
    for (const text of open) expect(junit.out).not.toContain(text.replace('>', '&gt;').replace('<', '&lt;'));
    expect(sarif.out.match(/"state": "undecided"/g)?.length).toBe(open.length);
    const asked = await run(['ask', 'a.rig', open.at(-1)!], files);
    expect([asked.out, asked.code]).toEqual([`${open.at(-1)!}: not decided\n`, 1]);
  });
});
