/** A suggestion turns nothing without need: every value that it changes is worth something, measured by putting the present one back. */
import { describe, expect, it } from 'vitest';
import { reasonsOf } from '../../server/core/choose/tune/reasons';
import { scoreOf } from '../../server/core/choose/tune/score';
import { suggest } from '../../server/core/document/tune';
import { createDocument } from '../../server/core/document/document';
import { seededRandom } from '../../server/core/timing/tolerance';
import { finish } from '../../server/core/work/work';
import { tuneRigText } from '../support/tune-rig';

const SEED = Number(process.env['TUNE_SEED'] ?? 11);
const RIGS = Number(process.env['TUNE_RIGS'] ?? 12);
const OPTIONS = { starts: 4, runs: 800, trials: 100, states: 0, random: () => seededRandom(1) };

const suggested = (text: string) => {
  const document = createDocument({ uri: 'file:///r.rig', version: 1, text }, () => undefined);
  const found = suggest(document, 0, { free: [], allPresets: false, step: 10_000 }, OPTIONS);
  if (!found.ok) throw new Error(found.message);
  return found;
};

describe(`what changes in suggestions for ${RIGS} random rigs, seed ${SEED}`, () => {
  it('gains something, in a requirement or in what is preferred', { timeout: 600_000 }, () => {
    const random = seededRandom(SEED);
    let changes = 0;
    let stays = 0;
    for (let k = 0; k < RIGS; k++) {
      const { text } = tuneRigText(random);
      const { answer, problem } = suggested(text);
      if (answer.conflicts.length > 0) continue;
      const reasons = finish(reasonsOf(problem, answer));
      for (const [v, { variable, value }] of answer.chosen.entries()) {
        if (value === variable.now) {
          stays++;
          continue;
        }
        changes++;
        const back = answer.chosen.map((c, j) => (j === v ? variable.now : c.value));
        const without = scoreOf(problem, back)!;
        const { best } = answer.tuned;
        const what = `rig ${k}: ${variable.name} from ${variable.now} to ${value}\n${text}`;
        expect(reasons[v]!.kind, what).not.toBe('free');
        // Only the smallest slack counts beyond the bound itself.
        const counted = (slack: number, i: number): number => (i === 0 ? slack : Math.min(1, slack));
        const lost = best.slacks.some((slack, i) => counted(without.slacks[i] ?? -1, i) < counted(slack, i) - 0.005);
        const aims = best.aims.some((aim, i) => without.aims[i]! < aim - 1e-4 * Math.abs(aim));
        expect(without.missing > best.missing || lost || aims, what).toBe(true);
      }
    }
    expect(changes).toBeGreaterThan(RIGS / 10);
    expect(stays).toBeGreaterThan(0);
  });
});

describe('a change of one step', () => {
  /** A door that may stay open for as long as the range says, with a stated window. */
  const lock = (held: string, ...aims: string[]): string => `rig lock {
  medium air
  chamber hall { volume 3 m3  pressure 1 bar }
  chamber room { volume 3 m3  pressure 1 bar }
  let held = ${held} in 5 s .. 15 s
  let after = 4 s in 2 s .. 6 s
  door front { pocket 6 L  travel 100 ms }
  door back  { pocket 6 L  travel 100 ms }
  stack hall > front > back > room
  sensor full on hall { pressure above 2 bar  clears below 1.5 bar }
  controller { response 10 ms }
  signal busy = TOF(go, 30 s)
  signal go = TP(full and not busy, held)
  drive front = go
  drive back = TP(TON(not go and busy, after), 2 s)
  ${aims.join('\n  ')}
}`;

  it('is not suggested where it moves the slack by a thousandth of the bound', () => {
    // The middle of 5 s .. 15 s is 10 s of window, 10.1 s of pulse with the travel.
    const { answer, edits } = suggested(lock('10.09 s', 'require window(front) in 5 s .. 15 s'));
    expect([edits, answer.asGood]).toEqual([[], true]);
    expect(suggested(lock('8 s', 'require window(front) in 5 s .. 15 s')).edits).toHaveLength(1);
  });

  it('is suggested where it decides what holds, or is what is preferred', () => {
    expect(
      suggested(lock('10.09 s', 'require window(front) >= 10 s', 'prefer least window(front)')).edits,
    ).toHaveLength(1);
    expect(
      suggested(lock('10.11 s', 'require window(front) >= 10 s', 'prefer least window(front)')).edits,
    ).toHaveLength(1);
    expect(suggested(lock('10.1 s', 'require window(front) >= 10 s', 'prefer least window(front)')).edits).toEqual([]);
  });
});
