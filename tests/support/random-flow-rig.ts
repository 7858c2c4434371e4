/** Random rigs of gas with stated openings: the text that the language reads, and the same for the oracle. Deterministic in the stream. */
import type { OracleCase } from './rig-oracle';
import type { Random } from './random';

const R = 8.314462618 / 0.0289655;
/** As the media of the language have air. */
const GAMMA = 1.3999;

/** A number of this many decimals within `[low, high]`, so that text and oracle have the same. */
function decimal(random: Random, low: number, high: number, digits: number): number {
  return Number((low + random() * (high - low)).toFixed(digits));
}

export interface Sketch {
  readonly text: string;
  readonly oracle: OracleCase;
}

/** Two or three chambers with one to three doors between neighbours, one to three strokes. `leaking`: part of its area that a shut door passes at most. */
export function randomFlowRig(random: Random, leaking = 0): Sketch {
  const adiabatic = random() < 0.5;
  const stages = random() < 0.35 ? 2 : 1;
  const strokes = 1 + Math.floor(random() * 3);
  const chambers = Array.from({ length: stages + 1 }, () => ({
    volume: decimal(random, 0.2, 5, 3),
    pressure: decimal(random, 0.8, 8, 3) * 1e5,
    temperature: adiabatic ? Math.round(280 + random() * 60) + 0.15 : 293.15,
    ...(adiabatic && random() < 0.4 ? { cools: decimal(random, 5, 200, 1) } : {}),
  }));
  const stack: (readonly ['c' | 'd', number])[] = [['c', 0]];
  const doors: OracleCase['doors'][number][] = [];
  const wanted: (readonly [open: number, close: number])[] = [];
  const bores: number[] = [];
  const shares: number[] = [];
  const period = decimal(random, 7, 12, 1);
  for (let stage = 0; stage < stages; stage++) {
    const count = 1 + Math.floor(random() * 3);
    for (let k = 0; k < count; k++) {
      const open = decimal(random, 0.005, 0.15, 4);
      const travel = decimal(random, 0.1, 0.9, 2);
      const opens = decimal(random, 0, 3, 1);
      const closes = decimal(random, opens + 1, Math.min(opens + 3, period - 1), 1);
      const bore = Math.round(10 + random() * random() * 190);
      bores.push(bore);
      wanted.push([opens, closes]);
      const area = 0.62 * (Math.PI / 4) * (bore / 1000) ** 2;
      const commands = Array.from({ length: strokes }, (_, n): (readonly [number, number])[] => [
        [n * period + opens, 1],
        [n * period + closes, 0],
      ]).flat();
      const shut = Number((open * (0.15 + 0.3 * random())).toFixed(5));
      const share = leaking > 0 && random() < 0.85 ? decimal(random, 0.01 * leaking, leaking, 6) : 0;
      shares.push(share);
      doors.push({ open, shut, area, travel, commands, ...(share > 0 ? { leak: share * area } : {}) });
      stack.push(['d', doors.length - 1]);
    }
    stack.push(['c', stage + 1]);
  }
  const until = Number((strokes * period - 0.05).toFixed(2));
  const lines = randomLines(random, chambers, until);
  const oracle: OracleCase = {
    R,
    gamma: GAMMA,
    T: 293.15,
    adiabatic,
    chambers,
    doors,
    stack,
    lines,
    edge: 1e-4,
    until,
    rtol: 1e-8,
  };
  return { oracle, text: textOf(oracle, wanted, bores, shares, period) };
}

/** The same rig with no opening stated, isothermal, its feeds and draws without conditions. */
export function withoutOpenings({ oracle, text }: Sketch): Sketch {
  const chambers = oracle.chambers.map(({ volume, pressure }) => ({ volume, pressure, temperature: oracle.T }));
  // A draw that nothing stops takes little, so that no chamber runs empty.
  const lines = oracle.lines.map(({ chamber, sign, rate, on }) => ({
    chamber,
    sign,
    rate: sign > 0 ? rate : 1e-3,
    on,
  }));
  const plain = text
    .replace(/ bore \d+ mm| leak [\d.e-]+| cools_in [\d.]+ s| temperature [\d.]+ degC|process adiabatic/g, '')
    .replace(/ only (above|below) [\d.]+ bar/g, '')
    .replace(/(draw l\d+ from c\d+ \{ rate )[\d.]+ kg\/s/g, '$10.001 kg/s');
  return { oracle: { ...oracle, adiabatic: false, chambers, lines }, text: plain };
}

function randomLines(random: Random, chambers: OracleCase['chambers'], until: number): OracleCase['lines'] {
  const on = [[0, until]] as const;
  const last = chambers.length - 1;
  const lines: OracleCase['lines'][number][] = [];
  if (random() < 0.5) {
    const below = random() < 0.5 ? { below: decimal(random, 1, 6, 2) * 1e5 } : {};
    lines.push({ chamber: 0, sign: 1, rate: decimal(random, 0.005, 0.1, 3), ...below, on });
  }
  // A draw that nothing holds could empty its chamber.
  if (random() < 0.5) {
    const above = decimal(random, 1, 4, 2) * 1e5;
    lines.push({ chamber: last, sign: -1, rate: decimal(random, 0.005, 0.1, 3), above, on });
  }
  return lines;
}

const bar = (pa: number): string => `${Number((pa / 1e5).toPrecision(6))} bar`;
const litres = (m3: number): string => `${Number((m3 * 1000).toPrecision(8))} L`;

function textOf(
  { adiabatic, chambers, doors, stack, lines, until }: OracleCase,
  wanted: readonly (readonly [number, number])[],
  bores: readonly number[],
  shares: readonly number[],
  period: number,
): string {
  const steps = wanted
    .flatMap(([open, close], k) => [
      { t: open, text: `open d${k}` },
      { t: close, text: `close d${k}` },
    ])
    .sort((a, b) => a.t - b.t);
  return [
    'rig random {',
    `  medium air { ${adiabatic ? 'process adiabatic' : ''} }`,
    ...chambers.map((c, k) => {
      const cools = c.cools === undefined ? '' : ` cools_in ${c.cools} s`;
      const degrees = Number((c.temperature - 273.15).toFixed(2));
      return `  chamber c${k} { volume ${c.volume} m3 pressure ${bar(c.pressure)} ${adiabatic ? `temperature ${degrees} degC` : ''}${cools} }`;
    }),
    ...doors.map(
      (d, k) =>
        `  door d${k} { pocket ${litres(d.open)} clearance ${litres(d.shut)} travel ${Math.round(d.travel * 1000)} ms bore ${bores[k]} mm${shares[k]! > 0 ? ` leak ${shares[k]}` : ''} }`,
    ),
    `  stack ${stack.map(([kind, k]) => `${kind}${k}`).join(' > ')}`,
    '  switch run = off',
    '  sequence pass on run {',
    ...steps.map(({ t, text }) => `    at ${t} s ${text}`),
    `    repeat after ${period} s`,
    '  }',
    ...lines.map((l, k) => {
      const only = l.above ? ` only above ${bar(l.above)}` : l.below ? ` only below ${bar(l.below)}` : '';
      return l.sign > 0
        ? `  feed l${k} into c${l.chamber} { rate ${l.rate} kg/s${only} }`
        : `  draw l${k} from c${l.chamber} { rate ${l.rate} kg/s${only} }`;
    }),
    '  scenario go {',
    '    at 0 s switch run on',
    ...lines.map((l, k) => `    at 0 s ${l.sign > 0 ? 'feed' : 'draw'} l${k} on`),
    `    for ${until} s`,
    '  }',
    '}',
  ].join('\n');
}
