/** Random two-door rigs as text, with tolerances up to a third on many of their times and requirements of every kind about time. */
import type { Random } from '../../server/core/timing/tolerance';

export function looseRigText(random: Random): string {
  const whole = (from: number, to: number): number => from + Math.floor(random() * (to - from + 1));
  const pick = <T>(list: readonly T[]): T => list[whole(0, list.length - 1)]!;
  const loose = (): string => (random() < 0.6 ? ` +- ${whole(1, 30)} %` : '');
  const time = (from: number, to: number): string => `${whole(from, to) * 10} ms${loose()}`;
  const term = (depth: number): string => {
    const kind = random();
    if (depth === 0 || kind < 0.2) return pick(['start', 's', 'g0']);
    if (kind < 0.4) return `TON(${term(depth - 1)}, ${time(5, 100)})`;
    if (kind < 0.6) return `TOF(${term(depth - 1)}, ${time(5, 100)})`;
    if (kind < 0.8) return `TP(${term(depth - 1)}, ${time(5, 100)})`;
    if (kind < 0.9) return `(${term(depth - 1)} and ${term(depth - 1)})`;
    return `(${term(depth - 1)} or not ${term(depth - 1)})`;
  };
  const style = random() < 0.3 ? `scan ${whole(5, 20)} ms${loose()}` : `response ${whole(1, 20)} ms${loose()}`;
  return `rig r {
  medium air
  chamber a { volume 1 m3  pressure 1 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door u { pocket 10 L  travel ${time(1, 10)} }
  door l { pocket 10 L  travel ${time(1, 10)} }
  stack a > u > l > b
  controller { ${style} }
  sensor s on a { pressure above 3 bar  clears below 2.5 bar }
  signal start = s and not hold
  signal g0 = ${pick(['TP', 'TOF'])}(start, ${time(20, 100)})
  signal g1 = ${term(2)}
  signal hold = TOF(g0, ${time(200, 400)})
  drive u = g0
  drive l = g1
  require gap(u, l) >= ${whole(-30, 30) * 10} ms
  require overlap(u, l) >= ${whole(0, 30) * 10} ms
  require never(u and l)
  require order(u opens, l opens, u shuts, l shuts)
  require repeat() <= ${whole(150, 600) * 10} ms
  require open_time(l) >= ${whole(5, 60) * 10} ms
  require shuts_at(l) <= ${whole(50, 300) * 10} ms
  require pulse(g1) >= ${whole(5, 60) * 10} ms
}`;
}
