/** What each timing metric asks for on random rigs is what a reader of the value change dump finds who knows its definition alone. */
import { describe, expect, it } from 'vitest';
import { randomText } from '../agreement/random-text';
import { run } from '../cli/run';
import { createReader, readDump } from '../support/trace-reader';
import { tuneRigText } from '../support/tune-rig';
import { seededRandom } from '../../server/core/timing/tolerance';

const SEED = Number(process.env['METRIC_SEED'] ?? 4100);
const RIGS = Number(process.env['METRIC_RIGS'] ?? 40);
const UNTIL = 120;

interface Question {
  readonly text: string;
  readonly metric: string;
  readonly found: readonly number[] | null;
}

interface Answer {
  readonly question: string;
  readonly dimension: string | null;
  /** Null: without end. */
  readonly values: readonly { readonly value: number | null; readonly since: string }[] | null;
}

/** Every question that a rig's doors and signals allow, with what the reader answers. */
function questionsOf(text: string, dump: string): Question[] {
  const names = (pattern: RegExp): string[] => [...text.matchAll(pattern)].map((m) => m[1]!);
  const doors = names(/^ {2}door (\w+)/gm);
  const { on } = readDump(dump, UNTIL * 1e6);
  const read = createReader({ on }, doors);
  const signals = names(/^ {2}signal (\w+)/gm).filter((name) => on.has(name));
  const pairs = doors.flatMap((a, k) => doors.slice(k + 1).map((b) => [a, b] as const));
  const strokes = read.strokes();
  const ask = (metric: string, args: string, found: readonly number[] | null): Question => ({
    text: `${metric}(${args})`,
    metric,
    found,
  });
  const delays = [...text.matchAll(/^ {2}signal (\w+) = [A-Z]+\(TON\((\w+), (\d+) ms\), \w+(?: ms)?\)$/gm)];
  return [
    ...doors.flatMap((d) => [
      ask('window', d, read.window(d)),
      ask('open_time', d, read.open_time(d)),
      ask('opens_at', d, read.opens_at(d)),
      ask('opened_at', d, read.opened_at(d)),
      ask('shuts_at', d, read.shuts_at(d)),
      ask('stands_open', d, read.stands_open(d)),
    ]),
    ...pairs.flatMap(([a, b]) => [
      ask('overlap', `${a}, ${b}`, read.overlap(a, b)),
      ask('gap', `${a}, ${b}`, read.gap(a, b)),
      ask('never', `${a} and ${b}`, read.never(a, b)),
      ask('order', `${a} shuts, ${b} opens`, read.order(a, b)),
    ]),
    ...signals.map((s) => ask('pulse', s, read.pulse(s))),
    ...delays.map((m) => ask('margin', m[1]!, read.margin(m[2]!, Number(m[3]) * 1000))),
    ...(strokes
      ? [
          ask('repeat', '', strokes.interval === null ? null : [strokes.interval]),
          ask('cycle', '', Number.isFinite(strokes.ends) ? [strokes.ends] : null),
        ]
      : []),
  ];
}

/** Values in the stroke; of what stands open at rest, at rest. The dump begins with the trigger, where the rig has come to rest after power-on. */
function valuesIn({ question, values }: Answer): readonly (number | null)[] | null {
  const all = values?.filter((v) => question.startsWith('stands_open') || v.since !== 'while no sensor changes') ?? [];
  return all.length > 0 ? all.map((v) => v.value) : null;
}

/** Values as a set: the same stretch comes again with every stroke. */
const asSet = (values: readonly (number | null)[] | null): string =>
  values === null
    ? 'none'
    : [...new Set(values.map((v) => (v === null || !Number.isFinite(v) ? 'no end' : String(Math.round(v)))))]
        .sort()
        .join();

async function compared(text: string, counts: Map<string, number>, wrong: string[]): Promise<void> {
  const files = { 'r.rig': text };
  const timing = JSON.parse((await run(['timing', 'r.rig', '--json'], files)).out).rigs[0];
  const { triggers } = timing;
  // One sensor that starts strokes by going on is what the dump follows.
  if (triggers.length !== 1 || triggers[0].sensor !== 's' || triggers[0].becomes !== true) return;
  const dump = await run(['trace', 'r.rig', '--format', 'vcd', '--until', `${UNTIL} s`], files);
  if (dump.code !== 0) return;
  const questions = questionsOf(text, dump.out);
  const { out, err } = await run(['ask', 'r.rig', '--json', ...questions.map((q) => q.text)], files);
  const { answers } = JSON.parse(out);
  expect(answers, err).toHaveLength(questions.length);
  for (const [k, { text: question, metric, found }] of questions.entries()) {
    const answer: Answer = answers[k];
    const given = valuesIn(answer);
    const si = answer.dimension === 'time' ? given?.map((v: number | null) => (v === null ? null : v * 1e6)) : given;
    if (asSet(si ?? null) !== asSet(found) && (si || metric !== 'order' || found?.[0] !== 0))
      wrong.push(
        `${question}: ${asSet(si ?? null)}, by the dump ${asSet(found)}\n${process.env['METRIC_TEXTS'] ? text : ''}`,
      );
    if (found !== null) counts.set(metric, (counts.get(metric) ?? 0) + 1);
  }
}

const METRICS = [
  'window',
  'open_time',
  'opens_at',
  'opened_at',
  'shuts_at',
  'stands_open',
  'overlap',
  'gap',
  'never',
  'order',
  'pulse',
  'margin',
  'repeat',
  'cycle',
];

describe(`timing metrics of ${2 * RIGS} random rigs from seed ${SEED}`, () => {
  it('are what the dump shows', { timeout: 1_800_000 }, async () => {
    const counts = new Map<string, number>();
    const wrong: string[] = [];
    const random = seededRandom(SEED);
    for (let k = 0; k < RIGS; k++) {
      await compared(randomText(SEED + k), counts, wrong);
      await compared(tuneRigText(random).text, counts, wrong);
    }
    expect(wrong).toEqual([]);
    expect(METRICS.filter((m) => (counts.get(m) ?? 0) < 3)).toEqual([]);
  });
});
