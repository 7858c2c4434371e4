/** `caisson wire`: the statements for a sequence, verified against it; what cannot be wired is said in one sentence. */
import { describe, expect, it } from 'vitest';
import { LOCK_PLAN } from '../support/lock-plan';
import { createDocument } from '../../server/core/document/document';
import { suggestWiring } from '../../server/core/document/suggest-sequence';
import { finish } from '../../server/core/work/work';
import { run } from './run';

describe('caisson wire', () => {
  it.each(['response 40 ms', 'response 0 s', 'scan 20 ms'])(
    'gives a wiring that follows the sequence (%s)',
    async (style) => {
      const text = LOCK_PLAN.replace('response 40 ms', style);
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
      LOCK_PLAN,
      ['--blocks', 'TOF,SR'],
      'plan cannot be wired: it needs TON and TP, or TOF and TON, which --blocks does not allow',
    ],
    [LOCK_PLAN.replace(/ {2}sequence[\s\S]*?\n {2}\}\n/, ''), [], 'lock states no sequence to wire'],
    [
      LOCK_PLAN.replace('repeat after 12 s', 'repeat after 3.41 s'),
      [],
      'plan cannot be wired: the sequence repeats sooner',
    ],
  ])('refuses in one sentence (%#)', async (text, more, message) => {
    const { code, err } = await run(['wire', 'lock.rig', ...more], { 'lock.rig': text });
    expect(code).toBe(2);
    expect(err).toContain(message);
  });
});

/** Three or more doors between two chambers, without a drive. */
const bare = (doors: readonly string[], medium: string, chambers: string, more = ''): string => `rig lift {
  medium ${medium}
${chambers}
${doors.map((d) => `  door ${d} { pocket 60 L  travel 220 ms  bore 160 mm }`).join('\n')}
  stack low > ${doors.join(' > ')} > high
  controller { response 20 ms }
${more}}
`;
const GAS = '  chamber low { volume 4 m3  pressure 1.5 bar }\n  chamber high { volume 1 m3  pressure 1 bar }';
const WATER =
  '  chamber low { volume 4 m3  level 1 m  floor_area 3 m2 }\n  chamber high { volume 4 m3  level 0.2 m  floor_area 3 m2 }';
const SENSOR = '  sensor ready on low { pressure above 1.4 bar  clears below 1.2 bar }\n';

describe('caisson wire --suggest', () => {
  it.each([
    ['gas', bare(['a', 'b', 'c'], 'air', GAS, SENSOR)],
    ['gas through five doors', bare(['a', 'b', 'c', 'd', 'e'], 'air', GAS, SENSOR)],
    ['gas, started by its one switch, which is off', bare(['a', 'b', 'c'], 'air', GAS, `${SENSOR}\n  switch go = off`)],
    ['liquid', bare(['a', 'b', 'c'], 'water', WATER)],
    ['liquid through four doors', bare(['a', 'b', 'c', 'd'], 'water', WATER)],
  ])('orders the doors so that nothing is found and something moves: %s', { timeout: 60_000 }, async (_, text) => {
    const { code, out, err, written } = await run(['wire', '--suggest', '--apply', 'lift.rig'], { 'lift.rig': text });
    expect([code, err]).toEqual([
      0,
      expect.stringMatching(/Verified: check finds nothing; a stroke brings [\d.]+ k?g to high\./),
    ]);
    expect(out).toMatch(/sequence stroke on \w+ \{/);
    expect(out.includes('go and ')).toBe(text.includes('switch go'));
    const made = String([...written.values()].at(-1));
    const checked = await run(['check', 'lift.rig'], { 'lift.rig': made });
    expect(checked.out).not.toMatch(/error|warning/);
    const doors = text.match(/(?<=door )\w/g)!;
    const proved = await run(['ask', 'lift.rig', `never(${doors.join(' and ')})`, 'stroke_mass(high) > 0 kg'], {
      'lift.rig': made,
    });
    expect([proved.code, proved.out]).toEqual([0, expect.stringContaining('holds')]);
    // The sequence can be wired with blocks in its turn.
    expect((await run(['wire', 'lift.rig', '--blocks', 'TON,TOF'], { 'lift.rig': made })).err).toContain('Verified');
  });

  it('ends by a count of work, and says how many orders were looked at', { timeout: 60_000 }, () => {
    const text = bare(['a', 'b', 'c'], 'air', GAS, SENSOR);
    const document = createDocument({ uri: 'file:///lift.rig', version: 1, text }, () => undefined);
    expect(finish(suggestWiring(document, 0, 1))).toEqual({
      ok: false,
      message: expect.stringContaining(
        'too large: trying one order of its doors is more than a search may take. Leave out',
      ),
    });
    let steps = 0;
    for (const work = suggestWiring(document, 0); !work.next().done;) steps++;
    const cut = finish(suggestWiring(document, 0, steps - 1));
    expect(cut.ok && cut.ended).toMatch(
      /^Not every order was tried: \d+ orders? looked at, as each has to be followed\. Without other stacks/,
    );
  });

  it.each([
    [bare(['a', 'b', 'c'], 'air', GAS, '  switch run = on\n  drive a = run\n'), 'a is driven already'],
    ['rig bare {\n  chamber low { volume 4 m3 }\n}\n', 'bare has no stack with doors to order'],
  ])('refuses in one sentence (%#)', async (text, message) => {
    const { code, err } = await run(['wire', '--suggest', 'lift.rig'], { 'lift.rig': text });
    expect([code, err]).toEqual([2, expect.stringContaining(message)]);
  });
});
