/**
 * Rigs that are hard on whoever works them out: very many doors, sensors or timers, states that never return, loops that never settle, times
 * of decades, parts in parts. Every one has a door `d0`, a chamber `c0` and a constant `wait` with a range, so that any command can be asked
 * of any of them. `scale` 1 is the whole size; smaller ones are for the suite, where every command is asked of every one.
 */

export interface HardRig {
  readonly text: string;
  /** A log of doors of it, as CSV. */
  readonly log: string;
}

const each = (count: number, line: (k: number) => string): string =>
  Array.from({ length: count }, (_, k) => line(k)).join('\n');

/** A formula that is on while any of the timers `t0` … is that is chosen. */
const either = (count: number, isChosen: (k: number) => boolean): string =>
  Array.from({ length: count }, (_, k) => k)
    .filter(isChosen)
    .map((k) => `t${k}`)
    .join(' or ');

const head = (name: string, chambers: number, doors: number, controller = 'response 5 ms'): string => `rig ${name} {
  medium air
  let wait = 4 s in 2 s .. 8 s
  controller { ${controller} }
${each(chambers, (k) => `  chamber c${k} { volume 1 m3  pressure ${k === 0 ? 2 : 1} bar }`)}
${each(doors, (k) => `  door d${k} { pocket 4 L  travel 100 ms  bore 100 mm }`)}
  feed fan into c0 { rate 0.1 kg/s  only below 3 bar }
  switch run = on
`;

const TRIGGER = '  sensor go on c0 { pressure above 1.5 bar  clears below 1.2 bar }';

/** A line of chambers with a door between each two. */
const row = (doors: number): string => each(doors, (k) => `  stack c${k} > d${k} > c${k + 1}`);

/** Doors that open one after the other, a tenth of a second of ramp and half a second apart: `doors` columns, `rows` readings of 50 ms. */
function logOf(doors: number, rows: number): string {
  const line = (r: number): string => {
    const t = r * 0.05;
    const at = (k: number): number => Math.min(1, Math.max(0, Math.min((t - k / 2) * 10, (k / 2 + 0.4 - t) * 10)));
    return [t.toFixed(2), ...Array.from({ length: doors }, (_, k) => at(k).toFixed(3))].join(',');
  };
  return `time [s],${Array.from({ length: doors }, (_, k) => `d${k}`).join(',')}\n${each(rows, line)}\n`;
}

const doorsInALine = (count: number, control: string): string =>
  `${head('line', count + 1, count, 'response 5 ms +- 2 ms  timer_accuracy 1 %')}${row(count)}\n${TRIGGER}\n${control}\n}\n`;

/** Doors in one stack, each on a timer of its own, every time with a tolerance. */
export const doorsWithTolerances = (count: number): string => `rig loose_doors {
  medium air
  controller { response 5 ms +- 1 ms }
  let wait = 150 ms in 100 ms .. 300 ms
${each(count, (k) => `  door d${k} { travel 100 ms +- 5 ms  bore 100 mm  pocket 1 L }`)}
${each(count + 1, (k) => `  chamber c${k} { volume 1 m3  pressure 1 bar }`)}
  stack ${each(count, (k) => `c${k} > d${k} >`)} c${count}
  sensor go on c0 { pressure above 1.4 bar  clears below 1.2 bar }
${each(count, (k) => `  signal s${k} = TP(${k === 0 ? 'go' : `TON(go, ${k * 200} ms)`}, ${k === 0 ? 'wait' : '150 ms'})\n  drive d${k} = s${k}`)}
  require overlap(d0, d1) < 150 ms
}
`;

/** Timers that one sensor starts all at once, the last of which moves the only door. */
export const timersAtOnce = (count: number): string => `rig many_timers {
  medium air
  controller { response 5 ms }
  let wait = 300 ms in 100 ms .. 400 ms
  chamber c0 { volume 6 m3  pressure 1.4 bar }
  chamber c1 { volume 1 m3  pressure 1.02 bar }
  door d0 { pocket 1 L  travel 100 ms  bore 50 mm }
  stack c0 > d0 > c1
  sensor go on c0 { pressure above 1.4 bar  clears below 1.2 bar }
${each(count, (k) => `  signal s${k} = TON(go, ${k + 1} ms)`)}
  drive d0 = TP(s${count - 1}, wait)
  require repeat() >= 1 s
}
`;

/** Fourteen lines: two oscillators whose common period is never reached behind a response that collects their edges. */
export const KILLER = `rig killer {
  medium air
  let wait = 1 ms in 1 ms .. 2 ms
  chamber c0 { volume 6 m3  pressure 1.02 bar }
  chamber c1 { volume 1 m3  pressure 1.02 bar }
  door d0 { pocket 1 L  travel 1 ms }
  stack c0 > d0 > c1
  controller { response 1 s }
  switch run = on
  signal fast = TON(run and not fast, 1 us) responds 0 s
  signal slow = TON(run and not slow, wait)
  drive d0 = fast xor slow
}
`;

/** Parts in parts: each level places the one below it `width` times. */
function deepParts(levels: number, width: number): string {
  const inner = `part level0(above, below, go, wait) {
  door leaf { pocket 4 L  travel 100 ms  bore 100 mm }
  stack above > leaf > below
  signal late = TON(go, wait)
  signal turn = TOF(late and not hold, wait)
  signal hold = TOF(turn, 2 * wait)
  drive leaf = turn
}
`;
  const level = (n: number): string => `part level${n}(above, below, go, wait) {
${each(width, (k) => `  place p${k} = level${n - 1}(above, below, go, wait + ${(k + 1) * 10 ** Math.min(n, 3)} ms)`)}
}
`;
  return `${inner}${Array.from({ length: levels }, (_, n) => level(n + 1)).join('')}${head('tower', 2, 1)}${row(1)}
${TRIGGER}
  drive d0 = TP(go, wait)
  signal both = go and run
  place all = level${levels}(c0, c1, both, wait)
}
`;
}

/** Rigs by name; their doors, sensors, timers and steps in number `scale` times what they are at most. */
export function hardRigs(scale: number): Readonly<Record<string, HardRig>> {
  const of = (most: number): number => Math.max(4, Math.round(most * scale));
  const [many, stacked, sensed, timers, steps] = [of(400), of(200), of(100), of(1500), of(2000)];
  return {
    'doors, a timer each': {
      text: doorsInALine(
        many,
        `${each(many, (k) => `  signal s${k} = TP(${k === 0 ? 'go' : `TON(go, wait + ${k * 200} ms)`}, 150 ms)\n  drive d${k} = s${k}`)}
  require overlap(d0, d1) >= 0 s
  require opens_at(d${many - 1}) <= 2 min
  prefer least opens_at(d${many - 1})`,
      ),
      log: logOf(many, 10 * many),
    },
    'doors by a sequence': {
      text: doorsInALine(
        many,
        `  sequence stroke on go {
${each(many, (k) => `    at ${k * 300} ms open d${k}\n    at ${k * 300 + 250} ms close d${k}`)}
    repeat after ${many * 300 + 10_000} ms
  }`,
      ),
      log: logOf(many, many),
    },
    'doors in one stack, without control': {
      text: `${head('bare', 2, stacked)}  stack c0 > ${each(stacked, (k) => `d${k} >`).replaceAll('\n', ' ')} c1\n${TRIGGER}\n}\n`,
      log: logOf(stacked, 400),
    },
    'sensors, a door each': {
      text: `${head('sensed', sensed + 1, sensed, 'response 5 ms +- 2 ms')}${row(sensed)}
${each(sensed, (k) => `  sensor n${k} on c${k} { pressure above 1.5 bar  clears below 1.2 bar }\n  drive d${k} = TP(n${k} and run, wait + ${k} ms)`)}
  require opens_at(d0) <= 1 min
}
`,
      log: logOf(sensed, 1000),
    },
    'timers on one sensor': {
      text: `${head('timed', 2, 2)}  stack c0 > d0 > c1\n  stack c0 > d1 > c1
${TRIGGER}
${each(timers, (k) => `  signal t${k} = TOF(TON(go and run, ${k + 1} ms), wait + ${k * 7} ms)`)}
${[0, 1].map((d) => `  drive d${d} = ${either(timers, (k) => k % 2 === d)}`).join('\n')}
  require window(d0) >= 1 s
}
`,
      log: logOf(2, 1000),
    },
    'timers that start at once': { text: timersAtOnce(timers), log: logOf(1, 1000) },
    'doors with tolerances': { text: doorsWithTolerances(Math.max(4, Math.round(many / 10))), log: logOf(4, 100) },
    'turning round for ever': { text: KILLER, log: logOf(1, 1000) },
    'two clocks that never meet': {
      text: `${head('clocks', 2, 2, 'response 900 ms')}  stack c0 > d0 > c1\n  stack c0 > d1 > c1
${TRIGGER}
  signal fast = TON(run and not fast, 7 us) responds 0 s
  signal slow = TON(go and not slow, wait + 17 us)
  drive d0 = fast xor slow
  drive d1 = slow and not fast
  require gap(d0, d1) >= 1 ms
}
`,
      log: logOf(2, 1000),
    },
    'a loop that never settles': {
      text: `${head('loop', 2, 2)}  stack c0 > d0 > c1\n  stack c0 > d1 > c1
${TRIGGER}
  signal spin = go and not spin responds 0 s
  drive d0 = spin
  drive d1 = TON(spin or run, wait)
  require window(d1) >= 1 s
}
`,
      log: logOf(2, 1000),
    },
    'times of decades': {
      text: `${head('decades', 2, 2)}  stack c0 > d0 > c1\n  stack c0 > d1 > c1
${TRIGGER}
  signal first = TOF(go and run and not hold, 1000000000 s)
  signal second = TON(first, 900000000 s)
  signal hold = TOF(second, 1000000000 s)
  drive d0 = first and not TON(first, wait)
  drive d1 = second
  require gap(d0, d1) >= 1 s
  scenario long {
    at 1 s  switch run off
    at 1000000000 s  switch run on
    for 2000000000 s
  }
}
`,
      log: logOf(2, 1000),
    },
    'parts in parts': { text: deepParts(scale < 1 ? 4 : 7, 2), log: logOf(1, 1000) },
    'steps by the thousand': {
      text: `${head('steps', 2, 2)}  stack c0 > d0 > d1 > c1
${TRIGGER}
  sequence stroke on go {
${each(steps, (k) => `    at ${k * 100} ms ${k % 2 === 0 ? 'open' : 'close'} d${k % 4 < 2 ? 0 : 1}`)}
    repeat after ${steps * 100 + 10_000} ms
  }
  scenario year {
${each(Math.ceil(steps / 2), (k) => `    at ${k + 1} s  switch run ${k % 2 === 0 ? 'off' : 'on'}`)}
    for 100000 d
  }
  require opens_at(d0) <= 1 h
}
`,
      log: logOf(2, 1000),
    },
  };
}
