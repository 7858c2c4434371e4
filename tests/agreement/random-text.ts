/**
 * Random rigs as text, with everything that one writes: both styles, tolerances, latches, counters, sequences that drive, parts, chambers in
 * between, vents, several triggers, and requirements that may hold or not. Deterministic in the seed.
 */
import { integer, pick, seeded, type Random } from '../support/random';

const chance = (random: Random, share: number): boolean => random() < share;
const ms = (random: Random, from: number, to: number): string => `${10 * integer(random, from / 10, to / 10)} ms`;

function withTolerance(random: Random, time: string): string {
  const spread = pick(random, Number.parseInt(time, 10) > 20 ? ['2 %', '5 ms', '20 ms'] : ['2 %']);
  return chance(random, 0.2) ? `${time} +- ${spread}` : time;
}

function term(random: Random, names: readonly string[], depth: number): string {
  if (depth === 0 || chance(random, 0.2)) return `${chance(random, 0.15) ? 'not ' : ''}${pick(random, names)}`;
  const inner = (): string => term(random, names, depth - 1);
  const preset = (): string => withTolerance(random, ms(random, 60, 1200));
  const block = pick(random, ['TON', 'TOF', 'TP', 'TP', 'join', 'join', 'edge', 'latch', 'count']);
  switch (block) {
    case 'join':
      return `(${inner()} ${pick(random, ['and', 'and', 'or', 'xor'])} ${inner()})`;
    case 'edge':
      return `${pick(random, ['R_TRIG', 'F_TRIG'])}(${inner()})`;
    case 'latch':
      return `${pick(random, ['SR', 'RS'])}(${inner()}, ${inner()})`;
    case 'count':
      return `CTU(${inner()}, ${inner()}, ${integer(random, 1, 3)})`;
    default:
      return `${block}(${inner()}, ${preset()})`;
  }
}

function stackOf(random: Random, doors: readonly string[]): { chambers: string[]; stack: string } {
  const chambers = ['source'];
  const members = ['source'];
  doors.forEach((door, k) => {
    members.push(door);
    if (k === doors.length - 1 || !chance(random, 0.25)) return;
    chambers.push(`room${k}`);
    members.push(`room${k}`);
  });
  return { chambers: [...chambers, 'sink'], stack: [...members, 'sink'].join(' > ') };
}

/** Signals in a train, as one would write it: a pulse with a hold-off, and windows behind it. */
function train(random: Random, doors: readonly string[]): string[] {
  const lines = ['signal go = s and run and not hold'];
  doors.forEach((door, k) => {
    const [wait, open] = [ms(random, 20 + 600 * k, 700 + 600 * k), withTolerance(random, ms(random, 200, 900))];
    lines.push(k === 0 ? `signal g0 = TOF(go, ${open})` : `signal g${k} = TP(TON(TOF(go, 3.4 s), ${wait}), ${open})`);
    lines.push(`drive ${door} = g${k}`);
  });
  const holds = chance(random, 0.8) ? 'TOF(g0, 4.1 s)' : 'TOF(g0, 900 ms)';
  return [...lines, `signal hold = ${holds}`];
}

function wild(random: Random, doors: readonly string[]): string[] {
  const names = ['s', 'run', 's', 'g0'];
  const lines = doors.map((_, k) => {
    const line = `signal g${k} = ${term(random, names.slice(0, 3 + k), 3)}`;
    if (k > 0) names.push(`g${k}`);
    return line;
  });
  return [...lines, ...doors.map((door, k) => `drive ${door} = ${chance(random, 0.1) ? 'run' : `g${k}`}`)];
}

function sequence(random: Random, doors: readonly string[]): string[] {
  const windows = doors.map((door, k) => {
    const from = 400 * k + 10 * integer(random, 0, 60);
    return { door, from, to: from + 10 * integer(random, 20, 90) };
  });
  const steps = windows
    .flatMap(({ door, from, to }) => [
      { t: from, words: `open ${door}` },
      { t: to, words: `close ${door}` },
    ])
    .sort((a, b) => a.t - b.t);
  const length = steps[steps.length - 1]!.t + 10 * integer(random, 20, 200);
  const repeat = chance(random, 0.7) ? [`repeat after ${length} ms`] : [];
  return ['sequence work on s {', ...steps.map(({ t, words }) => `  at ${t} ms ${words}`), ...repeat, '}'];
}

/** The same signals out of a part that is placed. */
function placed(random: Random, doors: readonly string[]): { before: string[]; inside: string[] } {
  const body = `signal on = TP(TON(t, wait), open)`.replace('signal on', 'signal out');
  return {
    before: ['part window(t, wait, open) {', `  ${body}`, '}'],
    inside: [
      'signal go = s and run',
      ...doors.flatMap((door, k) => [
        `place w${k} = window(go, ${ms(random, 100 + 500 * k, 600 + 500 * k)}, ${ms(random, 200, 800)})`,
        `drive ${door} = w${k}.out`,
      ]),
    ],
  };
}

function requirements(random: Random, doors: readonly string[]): string[] {
  const one = (): string => {
    const [a, b] = [pick(random, doors), pick(random, doors)];
    const [x, y] = a === b ? [doors[0]!, doors[1]!] : [a, b];
    return pick(random, [
      () => `overlap(${x}, ${y}) ${pick(random, ['>=', '<='])} ${ms(random, 0, 400)}`,
      () => `gap(${x}, ${y}) >= ${ms(random, 0, 300)}`,
      () => `never(${x} and ${y})`,
      () => `window(${x}) >= ${ms(random, 100, 600)}`,
      () => `shuts_at(${y}) <= ${ms(random, 600, 2500)}`,
      () => `repeat() >= ${ms(random, 500, 4000)}`,
      () => `order(${x} opens, ${y} opens)`,
    ])();
  };
  const all = Array.from({ length: integer(random, 1, 4) }, one);
  return [...new Set(all)].map((text) => `require ${text}`);
}

/** The text of the rig of a seed. */
export function randomText(seed: number): string {
  const random = seeded(seed);
  const doors = ['a', 'b', 'c', 'd'].slice(0, integer(random, 2, 4));
  const { chambers, stack } = stackOf(random, doors);
  const style = chance(random, 0.3)
    ? `scan ${10 * integer(random, 1, 5)} ms`
    : `response ${withTolerance(random, `${10 * integer(random, 0, 4)} ms`)}`;
  const accuracy = chance(random, 0.2) ? '  timer_accuracy 2 %' : '';
  const kind = pick(random, ['train', 'train', 'wild', 'sequence', 'part']);
  const part = kind === 'part' ? placed(random, doors) : { before: [], inside: [] };
  const made = { train, wild, sequence }[kind as 'train']?.(random, doors) ?? part.inside;
  const vents = chance(random, 0.1) ? ' { vents source, sink }' : '';
  const lines = [
    'medium air',
    ...chambers.map((name, k) => `chamber ${name} { volume ${300 + 100 * k} L  pressure ${1.5 - 0.1 * k} bar }`),
    ...doors.map((door) => {
      const rest = chance(random, 0.12) ? '  rest open' : '';
      return `door ${door} { pocket 4 L  travel ${withTolerance(random, ms(random, 0, 300))}${rest} }`;
    }),
    `stack ${stack}`,
    `controller { ${style}${accuracy} }`,
    `switch run = on${vents}`,
    'sensor s on source { pressure above 2 bar  clears below 1.6 bar }',
    ...made,
    ...requirements(random, doors),
  ];
  return [...part.before, `rig r${seed} {`, ...lines.map((line) => `  ${line}`), '}', ''].join('\n');
}

/**
 * The rig of a seed with contents that turn its sensor: a feed fills the first chamber, some rigs draw from the last, and a scenario runs
 * them while its switch is thrown now and then.
 */
export function randomFedText(seed: number): string {
  const random = seeded(seed + 1_000_000);
  const drawn = chance(random, 0.5);
  const thrown = chance(random, 0.4) ? [`    at ${ms(random, 3000, 9000)} switch run off`] : [];
  const again = thrown.length > 0 ? [`    at ${ms(random, 9100, 14000)} switch run on`] : [];
  const cut = chance(random, 0.2) ? [`    at ${ms(random, 2000, 12000)} power off`, '    at 15 s power on'] : [];
  const lines = [
    `  feed fan into source { rate ${integer(random, 1, 12) / 20} kg/s }`,
    ...(drawn ? [`  draw tap from sink { rate ${integer(random, 1, 5) / 100} kg/s  only above 1.2 bar }`] : []),
    '  scenario filled {',
    `    at 0 s feed fan on`,
    ...thrown,
    ...again,
    ...cut,
    '    for 18 s',
    '  }',
  ];
  return randomText(seed).replace(/\}\n$/, `${lines.join('\n')}\n}\n`);
}
