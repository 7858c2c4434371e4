/**
 * Fischer's protocol beside bounded model checking of the same model by z3 (Debian package z3): a delay and one edge a step, clocks as reals, up to a number of steps.
 * z3 answers only up to that bound, the zones for every run. `DEPTH=N` is the bound where nothing is broken (default 10). CPU seconds of one run each.
 */
import { spawnSync } from 'node:child_process';
import { createExploration } from '../../server/core/proof/explore';
import { automataSystem } from '../support/automaton';
import { fischer } from '../support/fischer';

const DEPTH = Number(process.env['DEPTH'] ?? 10);

const cpu = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};

function zones(processes: number, write: number, wait: number): { readonly seconds: number; readonly verdict: string } {
  const begun = cpu();
  const exploration = createExploration(automataSystem(fischer(processes, write, wait)));
  while (!exploration.run(10_000) && exploration.broken.size === 0);
  return { seconds: cpu() - begun, verdict: exploration.broken.size > 0 ? 'broken' : 'safe' };
}

const numbers = (count: number): number[] => Array.from({ length: count }, (_, k) => k);
const all = (parts: readonly string[]): string => `(and ${parts.join(' ')})`;
const some = (parts: readonly string[]): string => `(or ${parts.join(' ')})`;

/** Locations: 0 idle, 1 request, 2 wait, 3 inside. `l p i`, `x p i`: location and clock of a process after i steps; `o i`: whose number is written (0: none). */
function smt(processes: number, write: number, wait: number, depth: number): string {
  const every = numbers(processes);
  const l = (p: number, i: number): string => `l${p}_${i}`;
  const x = (p: number, i: number): string => `x${p}_${i}`;
  const late = (p: number, i: number): string => `(+ ${x(p, i)} d${i})`;
  const edge = (p: number, i: number, from: number, to: number, when: string, set: string, resets: boolean): string =>
    all([
      `(= ${l(p, i)} ${from})`,
      `(= ${l(p, i + 1)} ${to})`,
      when,
      `(= o${i + 1} ${set})`,
      `(= ${x(p, i + 1)} ${resets ? '0.0' : late(p, i)})`,
      ...every
        .filter((q) => q !== p)
        .flatMap((q) => [`(= ${l(q, i + 1)} ${l(q, i)})`, `(= ${x(q, i + 1)} ${late(q, i)})`]),
    ]);
  const moves = (p: number, i: number): string[] => [
    edge(p, i, 0, 1, `(= o${i} 0)`, `o${i}`, true),
    edge(p, i, 1, 2, 'true', `${p + 1}`, true),
    edge(p, i, 2, 0, `(not (= o${i} ${p + 1}))`, `o${i}`, false),
    edge(p, i, 2, 3, all([`(= o${i} ${p + 1})`, `(>= ${late(p, i)} ${wait}.0)`]), `o${i}`, false),
    edge(p, i, 3, 0, 'true', '0', false),
  ];
  const steps = numbers(depth);
  const declared = numbers(depth + 1).flatMap((i) => [
    `(declare-const o${i} Int) (declare-const d${i} Real)`,
    ...every.map((p) => `(declare-const ${l(p, i)} Int) (declare-const ${x(p, i)} Real)`),
  ]);
  const start = all(['(= o0 0)', ...every.flatMap((p) => [`(= ${l(p, 0)} 0)`, `(= ${x(p, 0)} 0.0)`])]);
  const passing = steps.flatMap((i) => [
    `(>= d${i} 0.0)`,
    ...every.map((p) => `(=> (= ${l(p, i)} 1) (<= ${late(p, i)} ${write}.0))`),
    some(every.flatMap((p) => moves(p, i))),
  ]);
  const met = numbers(depth + 1).flatMap((i) =>
    every.flatMap((p) => every.filter((q) => q > p).map((q) => all([`(= ${l(p, i)} 3)`, `(= ${l(q, i)} 3)`]))),
  );
  return [...declared, ...[start, ...passing, some(met)].map((part) => `(assert ${part})`), '(check-sat)'].join('\n');
}

function bounded(text: string): { readonly seconds: number; readonly answer: string } | null {
  const command = `TIMEFORMAT='cpu %U %S'; time z3 -T:300 -in`;
  const { stdout, stderr } = spawnSync('bash', ['-c', command], { input: text, encoding: 'utf8' });
  const [, user, system] = /cpu ([\d.]+) ([\d.]+)/.exec(stderr) ?? [];
  return user === undefined ? null : { seconds: Number(user) + Number(system), answer: stdout.trim() };
}

for (const [processes, write, wait, depth] of [
  [2, 10, 10, 6],
  [3, 10, 10, 6],
  [2, 10, 11, DEPTH],
  [3, 10, 11, DEPTH],
] as const) {
  const ours = zones(processes, write, wait);
  const theirs = bounded(smt(processes, write, wait, depth));
  const words = theirs
    ? `z3 ${theirs.answer} within ${depth} steps, ${theirs.seconds.toFixed(2)} s: ${(theirs.seconds / ours.seconds).toFixed(1)} times the zones'`
    : 'z3 not found';
  console.log(
    `  Fischer ${processes}, write ${write}, wait ${wait}: ${ours.verdict}, ${ours.seconds.toFixed(2)} s; ${words}`,
  );
}
