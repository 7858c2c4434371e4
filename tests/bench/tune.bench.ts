/**
 * `npm run bench tune`: the tuner beside scipy, in one run on one machine. Linear: the presets of `samples/poor/harbour_lift.rig` as an integer
 * programme in steps of 10 ms (`milp`, HiGHS), its rows worked out by hand below. Non-linear: a rig whose rate is to be greatest, by
 * `differential_evolution` with this program as the judge, so that both ask the same question of the same engine. Needs python3 with scipy.
 */
import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { createInterface } from 'node:readline';
import { stepped, type TuneProblem } from '../../server/core/choose/tune/problem';
import { EVERYTHING, scoreOf, type Score } from '../../server/core/choose/tune/score';
import { tune, type Tuned } from '../../server/core/choose/tune/tune';
import { createDocument } from '../../server/core/document/document';
import { tuneProblem } from '../../server/core/document/tune-problem';
import { seededRandom } from '../../server/core/timing/tolerance';

/** As `caisson tune` without options. */
const OPTIONS = { starts: 12, runs: 4000, trials: 300 } as const;

/** A gas bank: how long doors stand open, how long it waits and how much it sweeps decide what it moves, and none of it in proportion. */
const BANK = `rig bank {
  medium air
  let settle = 1.4 s in 1 s .. 3 s
  let pause = 12 s in 4 s .. 20 s
  let swept = 150 L in 50 L .. 400 L
  chamber receiver { volume 6 m3  pressure 1.02 bar }
  chamber store { volume 1.5 m3  pressure 1.02 bar }
  door upper { pocket swept  clearance 10 L  travel 350 ms }
  door middle { pocket swept  clearance 10 L  travel 350 ms }
  door lower { pocket swept  clearance 10 L  travel 350 ms  rest closed }
  stack receiver > upper > middle > lower > store
  feed digester into receiver { rate 0.02 kg/s  only below 1.8 bar }
  draw burner from store { rate 0.015 kg/s  only above 1.5 bar }
  controller { response 40 ms }
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }
  signal start = ready and not hold
  signal upper_on = TOF(start, settle)
  signal middle_on = TOF(start, 3.1 s)
  signal lower_on = TOF(TON(middle_on, 2.45 s), 1.3 s)
  signal hold = TOF(upper_on, pause)
  drive upper = upper_on
  drive middle = middle_on
  drive lower = lower_on
  require gap(upper, lower) >= 100 ms
  require repeat() >= 8 s
  prefer most rate(store)
}
`;

const PYTHON = `
import json, sys, time
import numpy as np
from scipy.optimize import LinearConstraint, Bounds, milp, differential_evolution

# Presets in steps of 10 ms, in the order fill, carry, settle, empty, pause; everything in steps.
lows, highs = [60, 120, 80, 50, 300], [240, 400, 300, 200, 2000]
rows = [
    ([1, 0, 0, 0, 0], 15 + 80, np.inf),        # overlap(top, middle) = fill - 150 ms >= 800 ms
    ([0, 1, -1, 0, 0], 21 + 10, 21 + 50),      # overlap(middle, bottom) = carry - settle - 210 ms in 100 .. 500 ms
    ([-1, 0, 1, 0, 0], 27 + 15, np.inf),       # gap(top, bottom) = settle - fill - 270 ms >= 150 ms
    ([0, 1, -1, 1, 0], 15 + 60, np.inf),       # window(bottom) = carry - settle + empty - 150 ms >= 600 ms
]
started = time.perf_counter()
found = milp([1, 0, 0, 0, 1], integrality=np.ones(5), bounds=Bounds(lows, highs),
             constraints=LinearConstraint([r[0] for r in rows], [r[1] for r in rows], [r[2] for r in rows]))
print(json.dumps({"seconds": time.perf_counter() - started, "repeat": found.fun * 0.01 + 0.18}), flush=True)

def cost(x):
    print(json.dumps(list(x)), flush=True)
    return float(sys.stdin.readline())
for line in sys.stdin:
    started = time.perf_counter()
    found = differential_evolution(cost, json.loads(line), seed=1, tol=1e-3, polish=False)
    print(json.dumps({"seconds": time.perf_counter() - started, "asked": int(found.nfev), "x": list(found.x)}), flush=True)
`;

function problemOf(text: string): TuneProblem {
  const document = createDocument({ uri: 'file:///r.rig', version: 1, text }, () => undefined);
  const made = tuneProblem(document, 0, { free: [], allPresets: false, step: 10_000 });
  if (!made.ok) throw new Error(made.message);
  return made.problem;
}

function tuned(text: string): { found: Tuned; seconds: number } {
  const problem = problemOf(text);
  const started = performance.now();
  const found = tune(problem, { ...OPTIONS, random: seededRandom(1) })!;
  return { found, seconds: (performance.now() - started) / 1000 };
}

const times = (theirs: number, ours: number): string => `${(theirs / ours).toFixed(2)} times as long as ours`;

interface Evolved {
  readonly seconds: number;
  readonly asked: number;
  readonly x: readonly number[];
}

const costOf = (score: Score | null): number =>
  score === null ? 1e12 : score.missing > 0 ? 1e9 * (1 + score.missing) : -score.aims[0]!;

async function main(): Promise<void> {
  const python = spawn('python3', ['-c', PYTHON], { stdio: ['pipe', 'pipe', 'inherit'] });
  const lines = createInterface({ input: python.stdout })[Symbol.asyncIterator]();
  const next = async (): Promise<unknown> => JSON.parse((await lines.next()).value as string);
  const say = (value: unknown): void => void python.stdin.write(`${JSON.stringify(value)}\n`);

  /** What `differential_evolution` finds with this engine as its judge. */
  async function evolved(text: string): Promise<Evolved & { readonly score: Score }> {
    const problem = problemOf(text);
    const { variables } = problem;
    const scoreAt = (x: readonly number[]): Score | null =>
      scoreOf(
        problem,
        variables.map((v, k) => stepped(v, x[k]!)),
        EVERYTHING,
      );
    say(variables.map((v) => [v.low, v.high]));
    for (;;) {
      const line = (await next()) as number[] | Evolved;
      if (!Array.isArray(line)) return { ...line, score: scoreAt(line.x)! };
      say(costOf(scoreAt(line)));
    }
  }

  const poor = readFileSync('samples/poor/harbour_lift.rig', 'utf8');
  tuned(poor);
  const linear = tuned(poor);
  const milp = (await next()) as { seconds: number; repeat: number };
  const drawn = await evolved(poor);
  const repeat = ({ aims }: Score): string => `${(-aims[0]! / 1e6).toFixed(2)} s`;
  console.log(
    `linear, least repeat: ours ${repeat(linear.found.best)}, milp ${milp.repeat.toFixed(2)} s, differential_evolution ${repeat(drawn.score)}`,
  );
  console.log(`  ours ${linear.seconds.toFixed(2)} s, ${linear.found.orders} orders of events found and solved`);
  console.log(`  milp, whose rows were made by hand for one of them: ${times(milp.seconds, linear.seconds)}`);
  console.log(`  differential_evolution, ${drawn.asked} choices: ${times(drawn.seconds, linear.seconds)}`);

  const bank = tuned(BANK);
  const rated = await evolved(BANK);
  const rate = ({ aims }: Score): string => `${aims[0]!.toPrecision(5)} kg/s`;
  console.log(`non-linear, greatest rate: ours ${rate(bank.found.best)}, differential_evolution ${rate(rated.score)}`);
  console.log(
    `  ours ${bank.seconds.toFixed(2)} s; differential_evolution, ${rated.asked} choices: ${times(rated.seconds, bank.seconds)}`,
  );
  python.stdin.end();
}

void main();
