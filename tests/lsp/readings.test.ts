/** Readings asked about by an editor: where the edges lie in which picture, what deviates, what explains it, and each way there is none. */
import { afterEach, describe, expect, it } from 'vitest';
import { READINGS, type ReadingsResult } from '../../server/protocol/readings';
import { analyseRig } from '../../server/core/run/analyse';
import { measuredStroke } from '../support/measured';
import { rigFrom } from '../support/rig';
import { startSession, type Session } from './session';

const URI = 'file:///rigs/bank.rig';
const BANK = `rig bank "Bank" {
  medium air
  chamber a { volume 6 m3  pressure 1.6 bar }
  chamber b { volume 2 m3  pressure 1 bar }
  door upper { pocket 250 L  travel 300 ms }
  door lower { pocket 250 L  travel 300 ms }
  stack a > upper > lower > b
  controller { response 50 ms }
  sensor ready on a { pressure above 1.4 bar  clears below 1.3 bar }
  signal start = ready and not hold
  signal upper_on = TOF(start, 1.8 s)
  signal lower_on = TOF(TON(TOF(start, 3.2 s), 2.4 s), 900 ms)
  signal hold = TOF(start, 9 s)
  drive upper = upper_on
  drive lower = lower_on
  scenario noon { for 20 s  at 2 s sensor ready on }
}
`;
const logOf = (text: string) => measuredStroke(analyseRig(rigFrom(text).rig));
let session: Session;

async function ask(log: string, about: 'compare' | 'diagnose' = 'compare', scenario: string | null = null) {
  session = await startSession();
  session.open(URI, BANK);
  return session.ask<ReadingsResult>(READINGS, { uri: URI, text: log, scenario, about });
}

afterEach(async () => {
  expect(session.logged).toEqual([]);
  await session.close();
});

describe('readings', { timeout: 60_000 }, () => {
  it('of a sound rig are all within, in the picture of the stroke', async () => {
    const found = await ask(logOf(BANK));
    expect(found).toMatchObject({
      kind: 'compared',
      readings: { picture: 'bank/ready on', timing: null, scenarios: ['noon'], deviations: [], diagnosis: null },
    });
    if (found.kind !== 'compared') return;
    expect(found.readings.edges.map((e) => [e.lane, e.within])).toEqual([
      ['door:upper', true],
      ['door:upper', true],
      ['door:lower', true],
      ['door:lower', true],
    ]);
  });

  it('of a timer that is 400 ms too long: upper shuts 400 ms late, and that is what explains them', async () => {
    const found = await ask(logOf(BANK.replace('1.8 s', '2.2 s')), 'diagnose');
    if (found.kind !== 'compared') throw new Error(found.message);
    const { edges, deviations, diagnosis } = found.readings;
    // start 50 ms, TOF 1.8 s, its response 50 ms, half of the travel 150 ms after start went off at 100 ms.
    const off = edges.filter((e) => !e.within);
    expect(off).toHaveLength(1);
    expect(off[0]).toMatchObject({ lane: 'door:upper', length: '400 ms late' });
    expect(off[0]!.measured! - off[0]!.expected!).toBeCloseTo(400_000, -4);
    expect(deviations[0]!.slice(0, 1)).toEqual(['upper shuts']);
    expect(diagnosis!.ranking[0]!.what).toContain('2.2 s');
  });

  it('with the inputs as logged have a picture of their own', async () => {
    const rows = logOf(BANK).trimEnd().split('\n');
    const log = rows.map((row, k) => (k === 0 ? `${row},ready` : `${row},${k > 50 ? 1 : 0}`)).join('\n');
    const found = await ask(log);
    if (found.kind !== 'compared') throw new Error(found.message);
    expect(found.readings.picture).toBe('bank/as logged');
    expect(found.readings.timing).toMatchObject({ id: 'bank/as logged', subtitle: 'inputs as logged' });
  });

  it.each([
    ['', /empty|no /i],
    ['time [s],nobody\n0,1\n1,0\n', /door|signal/],
    ['\u0000\u0001', /./],
  ])('that cannot be held against the rig are refused in one sentence: %j', async (log, words) => {
    const found = await ask(log);
    expect(found).toMatchObject({ kind: 'refused', message: expect.stringMatching(words) });
  });
});
