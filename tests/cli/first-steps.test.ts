/** What somebody new asks: a rig to start from, what a word means, why nothing happens. */
import { describe, expect, it } from 'vitest';
import { propertiesOf, STATEMENTS } from '../../grammar/src/vocabulary';
import { ALL_CODES } from '../../server/core/document/codes';
import { METRICS } from '../../server/core/metrics/registry';
import { GLOSSARY } from '../../server/core/report/glossary';
import { NEW_RIGS } from '../../server/core/report/new-rigs';
import { run } from './run';

interface Flows {
  readonly rigs: { strokes: { stacks: { atTrigger: number }[] }[] }[];
}

describe('new', () => {
  it.each(Object.keys(NEW_RIGS))(
    '%s is a rig without a finding, in the standard layout, proved, and moves something',
    async (kind) => {
      const { code, out } = await run(['new', kind]);
      expect(code).toBe(0);
      expect(await run(['check', '-'], {}, out)).toMatchObject({ code: 0, out: '1 file: no finding.\n' });
      expect((await run(['format', '--check', '-'], {}, out)).code).toBe(0);
      const proof = await run(['prove', '-'], {}, out);
      expect(proof.out).not.toMatch(/undecided|REFUTED/);
      const flow = JSON.parse((await run(['flow', '--json', '-'], {}, out)).out) as Flows;
      expect(flow.rigs[0]!.strokes[0]!.stacks[0]!.atTrigger).toBeGreaterThan(0);
    },
  );

  it('never takes the place of a file', async () => {
    const { code, written } = await run(['new', 'lock', '--out', 'samples/brine_lift.rig']);
    expect([code, written.size]).toEqual([2, 0]);
  });

  it('lists what there is', async () => {
    const named = await run(['new', 'lock', 'here.rig']);
    expect({ code: named.code, texts: [...named.written.values()] }).toEqual({ code: 0, texts: [NEW_RIGS.lock] });
    expect((await run(['new', 'lock', 'a.rig', 'b.rig'])).err).toBe('caisson: new writes one file.\n');
    expect((await run(['new', 'boat'])).err).toBe('caisson: new wants one of bench, lock, lift, pump, not boat.\n');
  });
});

describe('explain', () => {
  it.each(GLOSSARY.map((t) => [t.word, t.meaning]))('%s', async (word, meaning) => {
    expect((await run(['explain', word])).out).toContain(meaning);
  });

  it('finds a code by its last part, a metric, and a term without quotes', async () => {
    expect((await run(['explain', 'straight-through'])).out).toMatch(/^door\/straight-through \(/);
    expect((await run(['explain', 'repeat'])).out).toMatch(/^repeat\(\).* \(metric\)/);
    expect((await run(['explain', 'to', 'spare'])).out).toMatch(/^to spare \(word\)/);
  });

  it.each(STATEMENTS.map((s) => [s.keyword, s.form]))('the statement %s with its properties', async (keyword, form) => {
    const { out } = await run(['explain', keyword]);
    for (const text of [form, ...propertiesOf(keyword).map((p) => p.doc)]) expect(out).toContain(text);
  });

  it('lists what a part of many names', async () => {
    const timers = ALL_CODES.filter((c) => c.code.startsWith('timer/'));
    expect((await run(['explain', 'timer/'])).out.split('\n')).toHaveLength(timers.length + 1);
  });

  it('goes by the beginnings of words, says how a word of the trade is written, and lists all without a word', async () => {
    const found = (await run(['explain', 'vent'])).out;
    expect(found).toBe(
      'vent: not a word of the language\n\nA vent is a door that leads outside: door NAME, and stack CHAMBER > NAME > atmosphere.\n',
    );
    // The argument of a metric is not its name: `order(event: …)` is not about vents.
    expect((await run(['explain', 'vents'])).out).toMatch(/^loss\/vents \(/);
    const list = (await run(['explain'])).out;
    const names = [...METRICS.map((m) => m.name), ...STATEMENTS.map((s) => s.keyword), ...GLOSSARY.map((t) => t.word)];
    expect([...ALL_CODES.map((c) => c.code), ...names].filter((name) => !list.includes(name))).toEqual([]);
  });

  it('cuts long words in its complaint', async () => {
    const { code, err } = await run(['explain', 'x'.repeat(3_000_000)]);
    expect([code, err.length < 500]).toEqual([2, true]);
  });
});

it('an empty file is reported', async () => {
  expect(await run(['check', '-'], {}, ' \n')).toMatchObject({
    code: 2,
    err: 'caisson: stdin.rig is empty; caisson new lists rigs to start from.\n',
  });
});

it.each(['check', 'timing', 'trace', 'diagram', 'fit', 'tune', 'export', 'frobnicate'])(
  '%s does not give a word of 3 MB back',
  async (command) => {
    for (const words of [
      [command, 'x'.repeat(3_000_000)],
      [command, 'samples/digester_bank.rig', '--rig', 'y'.repeat(3_000_000)],
    ]) {
      const { code, err } = await run(words);
      expect([code, err.length < 1000]).toEqual([2, true]);
    }
  },
);
