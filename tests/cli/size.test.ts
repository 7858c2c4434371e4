/** `caisson size`: hand-worked liquid rigs, rows that the flow engine confirms when they are written into the text, and why a target is out of reach. */
import { describe, expect, it } from 'vitest';
import { sizeWork } from '../../server/core/choose/size/size';
import { createDocument } from '../../server/core/document/document';
import { sizeReport } from '../../server/core/report/size-report';
import { finish } from '../../server/core/work/work';
import { run } from './run';

/** Water without openings: a stroke moves what a pocket holds, 10 L of 1000 kg/m3, every 10 s (0.2 s of it are four responses and the sensor's). */
const LIFT = `rig lift {
  medium plain liquid { density 1000 kg/m3  bulk_modulus 2 GPa  temperature 20 degC }
  chamber sump   { volume 90 m3  level 3 m  floor_area 20 m2 }
  chamber header { volume 90 m3  level 0.1 m  floor_area 20 m2 }
  door upper  { pocket 10 L  travel 200 ms }
  door middle { pocket 10 L  travel 200 ms }
  door lower  { pocket 10 L  travel 200 ms }
  stack sump > upper > middle > lower > header
  feed spring into sump { rate 1 kg/s  line_limit 1 kg/s  pump_limit 0.8 kg/s  only below 3 m }
  controller { response 20 ms }
  sensor ready on sump { level above 2 m  clears below 1.99 m }
  signal start     = ready and not hold
  signal upper_on  = TOF(start, 1 s)
  signal middle_on = TOF(start, 3 s)
  signal lower_on  = TOF(TON(middle_on, 1.8 s), 2.4 s)
  signal hold      = TOF(middle_on, 6.9 s)
  drive upper  = upper_on
  drive middle = middle_on
  drive lower  = lower_on
  require gap(upper, lower) >= 100 ms
}
`;

interface Row {
  interval: number;
  preset: number;
  pocketFactor: number;
  strokes: number;
  seconds: number;
  breaks: string[];
  doors: { pocket: number }[];
  feeds: { rate: number; lines: number; pumps: number }[];
}

const sized = async (target: string, text = LIFT) => {
  const { code, out, err } = await run(['size', 'lift.rig', '--target', target, '--json'], { 'lift.rig': text });
  return { code, err, answer: out === '' ? null : JSON.parse(out) };
};

const ask = async (question: string, text: string): Promise<number> =>
  JSON.parse((await run(['ask', '--json', 'l.rig', question], { 'l.rig': text })).out).answers[0].values[0].value;

describe('caisson size', () => {
  it('ends by a count of work, and says what was not tried', { timeout: 60_000 }, () => {
    const facts = createDocument({ uri: 'file:///lift.rig', version: 1, text: LIFT }, () => undefined).factsOf(0);
    const target = { chamber: 1, sensed: 'mass', value: 3200, within: 600 } as const;
    let steps = 0;
    for (const work = sizeWork(facts, target); !work.next().done;) steps++;
    const whole = finish(sizeWork(facts, target, steps));
    expect(whole).toMatchObject({ ok: true, answer: { ended: null } });
    const cut = finish(sizeWork(facts, target, steps - 1));
    expect(cut.ok && sizeReport(cut.answer).join('\n')).toContain(
      'Not every choice was tried, as each has to be followed to the target: ',
    );
    expect(cut.ok && cut.answer.rows.length).toBeGreaterThan(0);
    // Before the rig as it is was followed there is nothing to show.
    expect(finish(sizeWork(facts, target, 1))).toEqual({
      ok: false,
      message: expect.stringContaining(
        'too large to be sized: following it once to the target is more than a search may take. Ask for',
      ),
    });
  });

  it('finds the pocket that arithmetic gives, at each interval', { timeout: 60_000 }, async () => {
    // 1200 kg more in 10 min, from a sump that holds 60 t: 600 s / interval strokes, each of one pocket.
    const { code, answer } = await sized('header 3200 kg in 10 min');
    expect(code).toBe(0);
    const now = await ask('repeat()', LIFT);
    expect(answer.interval).toMatchObject({ setBy: 'hold', preset: 6.9, now });
    expect(answer.rows.length).toBeGreaterThan(2);
    for (const { interval, preset, doors, strokes, seconds } of answer.rows as Row[]) {
      expect(preset - 6.9).toBeCloseTo(interval - now, 9);
      // The first stroke is at its beginning: one more than whole intervals may fit. Pockets come out in two figures, and 1.5 % close.
      const most = Math.floor(600 / interval) + 1;
      const least = 1.2 / most;
      expect(doors[0]!.pocket).toBeGreaterThanOrEqual(least * (1 - 1e-6));
      expect(doors[0]!.pocket).toBeLessThanOrEqual((1.2 / (most - 2)) * 1.015 + 0.001);
      expect(strokes).toBe(Math.ceil(1.2 / doors[0]!.pocket - 1e-6));
      expect(seconds).toBeLessThanOrEqual(600);
    }
  });

  it('gives rows that do it when they are written into the text', { timeout: 60_000 }, async () => {
    const { answer } = await sized('header 3200 kg in 10 min');
    for (const { interval, preset, doors, seconds } of answer.rows as Row[]) {
      const text = LIFT.replaceAll('pocket 10 L', `pocket ${Number((doors[0]!.pocket * 1000).toFixed(6))} L`).replace(
        'TOF(middle_on, 6.9 s)',
        `TOF(middle_on, ${preset} s)`,
      );
      expect(await ask('repeat()', text)).toBeCloseTo(interval, 9);
      // Filling times are rounded up to a tenth of a second.
      expect(await ask('time_to(header, 3200 kg)', text)).toBeCloseTo(Math.ceil(seconds * 10) / 10, 9);
    }
  });

  it('counts lines and pumps of a feed that must grow', { timeout: 60_000 }, async () => {
    // The sump has 100 kg above the level at which the sensor clears; the rest of 1200 kg comes in 600 s: 1.83 kg/s, of the feeds tried 2 kg/s.
    const text = LIFT.replace('sump   { volume 90 m3  level 3 m ', 'sump   { volume 90 m3  level 1.995 m ').replace(
      'above 2 m  clears below 1.99 m',
      'above 1.995 m  clears below 1.99 m',
    );
    const { answer } = await sized('header 3200 kg in 10 min', text);
    const rows = answer.rows as Row[];
    expect(rows.map((r) => r.feeds[0]!.rate)).toContain(2);
    for (const { feeds } of rows) {
      const [{ rate, lines, pumps }] = feeds as [Row['feeds'][0]];
      expect(rate).toBeGreaterThan(1.83);
      // A line carries 1 kg/s, a pump 0.8.
      expect([lines, pumps]).toEqual([rate, Math.ceil(rate / 0.8)]);
    }
  });

  it('keeps what is required about time', { timeout: 60_000 }, async () => {
    const text = LIFT.replace('require gap', 'require repeat() in 9 s .. 12 s\n  require gap');
    const { answer } = await sized('header 3200 kg in 10 min', text);
    const intervals = (answer.rows as Row[]).map((r) => r.interval);
    expect(Math.min(...intervals)).toBeGreaterThanOrEqual(9);
    expect(Math.max(...intervals)).toBeLessThanOrEqual(12);
  });

  it('says why a target is out of reach', { timeout: 60_000 }, async () => {
    const drawn = LIFT.replace('  controller', '  draw town from header { rate 500 kg/s }\n  controller');
    const lost = await sized('header 3200 kg in 10 min', drawn);
    expect([lost.code, lost.answer.rows]).toEqual([1, []]);
    expect(lost.answer.why.join()).toMatch(/With pockets and openings 8 times as large.*header reaches/);
    const limit = await sized(
      'header 60000 kg in 1 min',
      LIFT.replace('chamber header {', 'chamber header { limit 40000 kg '),
    );
    expect(limit.answer.why[0]).toBe('header may not go beyond 40000 kg, its limit.');
    const stuck = await sized('header 3200 kg in 10 min', LIFT.replace('above 2 m', 'above 4 m'));
    expect(stuck.answer.why.join()).toContain('no stroke ever starts: nothing trips the trigger');
  });

  it('says where a gas stalls by what its pockets cannot sweep out', { timeout: 60_000 }, async () => {
    const { answer, code } = await sized(
      'header 30 bar in 2 h',
      LIFT.replace(/ {2}medium plain.*\n/, '  medium air\n')
        .replace(/chamber sump .*\n/, 'chamber sump { volume 60 m3  pressure 1.6 bar }\n')
        .replace(/chamber header .*\n/, 'chamber header { volume 1 m3  pressure 1 bar }\n')
        .replaceAll('pocket 10 L', 'pocket 10 L  clearance 2 L')
        .replace(/ {2}feed.*\n/, '')
        .replace('level above 2 m  clears below 1.99 m', 'pressure above 1.5 bar  clears below 1.2 bar'),
    );
    expect(code).toBe(1);
    expect(answer.why[0]).toMatch(/^Strokes stall at [\d.]+ bar in header whatever the pockets' size/);
  });

  it.each([
    [[], '--target says what is wanted'],
    [['--target', 'header 3 t'], '--target wants a chamber, an amount and a time'],
    [['--target', 'lid 3 bar in 10 min'], 'lift has no chamber lid; it has sump, header'],
    [['--target', 'header 3 K in 10 min'], '3 K is not a pressure, density, mass or level'],
    [['--target', 'header 3 bar in 10 kg'], 'wants a time above zero'],
    [['--target', 'header 1000 kg in 0 s'], 'wants a time above zero'],
    [['--target', 'header 0.1 m in 1 min'], 'header is there before the first stroke'],
  ])('refuses in one sentence: %j', async (words, message) => {
    const { code, err } = await run(['size', 'lift.rig', ...words], { 'lift.rig': LIFT });
    expect([code, err]).toEqual([2, expect.stringContaining(message)]);
    expect(err.trim().split('\n')).toHaveLength(1);
  });
});
