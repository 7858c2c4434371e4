/**
 * Short rigs that ask for more than anybody can wait for, each through another construct: states, instants, timers under way, parts,
 * expressions, names, steps, operations, tolerances. Whoever computes them ends by a count of work and says so.
 */

const times = (count: number, line: (k: number) => string): string =>
  Array.from({ length: count }, (_, k) => line(k)).join('\n');

/** A rig with two doors on a line; `inside` is what explodes. */
const rig = (inside: string, controller = 'response 20 ms'): string => `rig granary "Granary" {
  medium air
  chamber yard { volume 6 m3  pressure 3 bar }
  chamber loft { volume 2 m3  pressure 1.02 bar }
  door inlet { pocket 4 L  travel 30 ms }
  door outlet { pocket 4 L  travel 30 ms }
  stack yard > inlet > outlet > loft
  controller { ${controller} }
  switch run = on
  sensor full on yard { pressure above 2 bar  clears below 1.2 bar }
${inside}
}
`;
const DRIVES = '  drive inlet = go\n  drive outlet = TON(go, 1 s)';
const nested = (depth: number): string => `${'not ('.repeat(depth)}run${')'.repeat(depth)}`;

export const EXPLOSIVE: Readonly<Record<string, string>> = {
  'oscillators of prime periods': rig(
    `${[2, 3, 5, 7, 11, 13, 17].map((p) => `  signal o${p} = TON(run and not o${p}, ${p} us) responds 0 s`).join('\n')}
  drive inlet = o2 xor o3 xor o5 xor o7\n  drive outlet = o11 xor o13 xor o17`,
  ),
  'counters that count counters': rig(
    `  signal tick = TON(run and not tick, 1 ms)
${times(8, (k) => `  signal c${k} = CTU(${k === 0 ? 'tick' : `c${k - 1}`}, c${k}, 10)`)}
  drive inlet = c7\n  drive outlet = c6`,
    'response 1 ms',
  ),
  'hundreds of timers under way': rig(
    `  signal tick = TON(run and not tick, 700 us)
${times(300, (k) => `  signal late${k} = TOF(TON(tick, ${k + 1} us), ${1000 + 7 * k} ms)`)}
  signal go = late0 or late299\n${DRIVES}`,
    'response 100 us',
  ),
  'parts placed many times': `part stage(upper, lower, wait) {
  door leaf { travel 200 ms }
  door hatch { travel 200 ms }
  chamber room { volume 1 m3 }
  stack upper > leaf > room > hatch > lower
  sensor there on room { pressure above 2 bar }
  signal busy = TOF(TON(there, wait), wait)
  drive leaf = busy
  drive hatch = TON(busy, wait)
}
rig tower {
  medium air
  controller { response 20 ms }
  chamber yard { volume 6 m3  pressure 3 bar }
  chamber loft { volume 2 m3 }
${times(120, (k) => `  place s${k} = stage(yard, loft, ${k + 1} s)`)}
}
`,
  'deep and wide expressions': rig(
    `  signal deep = ${nested(25)}
  signal wide = ${Array.from({ length: 240 }, (_, k) => (k % 3 === 0 ? 'run' : 'not full')).join(' xor ')}
  signal go = deep and wide\n${DRIVES}`,
  ),
  'names and lines without end': rig(
    `  signal ${'n'.repeat(50_000)} = ${Array.from({ length: 4000 }, () => 'run').join(' or ')} # ${'remark '.repeat(10_000)}
  signal go = ${'n'.repeat(50_000)}\n${DRIVES}`,
  ),
  'sequences of many steps': rig(
    `  sequence plan on full {
${times(1500, (k) => `    at ${k * 100} ms  ${k % 2 === 0 ? 'open' : 'close'} ${k % 4 < 2 ? 'inlet' : 'outlet'}`)}
    repeat after 200 s
  }`,
  ),
  'a scenario of many operations': rig(
    `  signal go = run and full\n${DRIVES}
  scenario year {
${times(2000, (k) => `    at ${k + 1} s  switch run ${k % 2 === 0 ? 'off' : 'on'}`)}
    for 100000 d
  }
  require total(loft) >= 1 g during year`,
  ),
  'tolerances on everything': rig(
    `${times(24, (k) => `  signal w${k} = TOF(TON(${k === 0 ? 'full' : `w${k - 1}`}, ${100 + k} ms +- 40 %), ${300 + k} ms +- 40 %)`)}
  drive inlet = w11\n  drive outlet = w23
${times(12, (k) => `  require opens_at(outlet) >= ${k} ms`)}`,
    'response 25 ms +- 15 ms  timer_accuracy 5 %',
  ),
  'sensors that all start strokes': rig(
    `${times(40, (k) => `  sensor s${k} on yard { pressure above ${k + 2} bar }`)}
  signal any = ${Array.from({ length: 40 }, (_, k) => `s${k}`).join(' or ')}
  signal w = TP(not w and any, 3 ms)
  signal go = TON(TOF(w, 1 h), 2 h)\n${DRIVES}`,
    'response 1 ms',
  ),
};
