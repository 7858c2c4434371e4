/** Random small rigs with constants to choose and requirements about time, as text. */
import type { Random } from '../../server/core/timing/tolerance';

export function tuneRigText(random: Random): { readonly text: string; readonly variables: number } {
  const whole = (from: number, to: number): number => from + Math.floor(random() * (to - from + 1));
  const pick = <T>(list: readonly T[]): T => list[whole(0, list.length - 1)]!;
  const names = ['one', 'two', 'three'].slice(0, whole(1, 3));
  const lets = names.map((name) => {
    const [low, width] = [whole(5, 40) * 10, whole(5, 60) * 10];
    return `  let ${name} = ${low + whole(0, width / 10) * 10} ms in ${low} ms .. ${low + width} ms`;
  });
  const preset = (): string => (random() < 0.6 ? pick(names) : `${whole(5, 80) * 10} ms`);
  const second = pick([
    () => `TP(TON(s, ${preset()}), ${preset()})`,
    () => `TOF(TON(g0, ${preset()}), ${preset()})`,
    () => `TP(TON(start, ${preset()}), ${preset()})`,
    () => `TON(TOF(start, ${preset()}), ${preset()})`,
  ])();
  const all = [
    () => `require gap(u, l) >= ${whole(-20, 40) * 10} ms`,
    () => `require overlap(u, l) >= ${whole(1, 20) * 10} ms`,
    () => `require repeat() in ${whole(80, 120) * 10} ms .. ${whole(130, 200) * 10} ms`,
    () => `require window(l) >= ${whole(5, 40) * 10} ms`,
    () => `require shuts_at(l) <= ${whole(40, 200) * 10} ms`,
    () => `require opens_at(l) >= ${whole(5, 60) * 10} ms`,
  ];
  const chosen = all.filter(() => random() < 0.5);
  const requirements = (chosen.length > 0 ? chosen : [pick(all)]).map((make) => `  ${make()}`);
  const prefer =
    random() < 0.3 ? [`  prefer ${pick(['least', 'most'])} ${pick(['repeat()', 'open_time(u)', 'shuts_at(l)'])}`] : [];
  const text = `rig r {
  medium air
${lets.join('\n')}
  chamber a { volume 1 m3  pressure 1 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door u { pocket 10 L  travel 50 ms }
  door l { pocket 10 L  travel 50 ms }
  stack a > u > l > b
  controller { ${random() < 0.2 ? 'scan 10 ms' : 'response 10 ms'} }
  sensor s on a { pressure above 3 bar  clears below 2.5 bar }
  signal start = s and not hold
  signal g0 = ${pick(['TP', 'TOF'])}(start, ${preset()})
  signal g1 = ${second}
  signal hold = TOF(g0, ${whole(60, 120) * 10} ms)
  drive u = g0
  drive l = g1
${[...requirements, ...prefer].join('\n')}
}`;
  return { text, variables: names.length };
}
