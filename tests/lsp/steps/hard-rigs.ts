/** Rigs that take long, each in a way of its own. */

const each = (count: number, line: (k: number) => string): string =>
  Array.from({ length: count }, (_, k) => line(k)).join('\n');

/** Doors in one stack, each on a timer of its own, every time with a tolerance. */
export const doorsWithTolerances = (count: number): string => `rig many_doors {
  medium air
  controller { response 5 ms +- 1 ms }
  let held = 150 ms in 100 ms .. 300 ms
${each(count, (k) => `  door d${k} { travel 100 ms +- 5 ms  bore 100 mm  pocket 1 L }`)}
${each(count + 1, (k) => `  chamber c${k} { volume 1 m3  pressure 1 bar }`)}
  stack ${each(count, (k) => `c${k} > d${k} >`)} c${count}
  sensor go on c0 { pressure above 1.4 bar  clears below 1.2 bar }
${each(count, (k) => `  signal s${k} = TP(${k === 0 ? 'go' : `TON(go, ${k * 200} ms)`}, ${k === 0 ? 'held' : '150 ms'})\n  drive d${k} = s${k}`)}
}
`;

/** Timers that one sensor starts all at once. */
export const timersOnOneSensor = (count: number): string => `rig many_timers {
  medium air
  controller { response 5 ms }
  let held = 300 ms in 100 ms .. 400 ms
  chamber a { volume 6 m3  pressure 1.4 bar }
  chamber b { volume 1 m3  pressure 1.02 bar }
  door f { pocket 1 L  travel 100 ms  bore 50 mm }
  stack a > f > b
  sensor go on a { pressure above 1.4 bar  clears below 1.2 bar }
${each(count, (k) => `  signal s${k} = TON(go, ${k + 1} ms)`)}
  drive f = TP(s${count - 1}, held)
  require repeat() >= 1 s
}
`;

/** Twelve lines: two oscillators whose common period is never reached behind a response that collects their edges. */
export const KILLER = `rig killer {
  medium air
  chamber a { volume 6 m3  pressure 1.02 bar }
  chamber b { volume 1 m3  pressure 1.02 bar }
  door f { pocket 1 L  travel 1 ms }
  stack a > f > b
  controller { response 1 s }
  switch run = on
  signal fast = TON(run and not fast, 1 us) responds 0 s
  signal slow = TON(run and not slow, 1 ms)
  drive f = fast xor slow
}
`;
