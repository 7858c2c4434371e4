/**
 * How the time of a full analysis grows with the size of one rig: doors alone, a sensor for each door, steps of a sequence. The ratio
 * compares each doubling with n log n (1: just that). `GROWTH_TEXT=SHAPE:COUNT` prints the text of one instead.
 */
import { createDocument } from '../../server/core/document/document';
import { median } from './texts';

const each = (count: number, line: (k: number) => string): string =>
  Array.from({ length: count }, (_, k) => line(k)).join('\n');

const head = (name: string, count: number, chambers: boolean): string => `rig ${name} {
  controller { response 5 ms }
${each(count, (k) => `  door d${k} { travel 100 ms  bore 100 mm }`)}
${chambers ? each(count + 1, (k) => `  chamber c${k} { volume 1 m3  pressure 1 bar }`) : '  chamber c0 { volume 1 m3  pressure 2 bar }\n  chamber c1 { volume 1 m3 pressure 1 bar }'}
`;

export const SHAPES: Readonly<Record<string, (count: number) => string>> = {
  'doors, a timer each': (count) => `${head('doors', count, true)}
  stack ${Array.from({ length: count }, (_, k) => `c${k} > d${k} > `).join('')}c${count}
  sensor go on c0 { pressure above 1.5 bar  clears below 1.2 bar }
${each(count, (k) => `  signal s${k} = TP(${k === 0 ? 'go' : `TON(go, ${k * 200} ms)`}, 150 ms)\n  drive d${k} = s${k}`)}
}
`,
  'doors apart, a timer each': (count) => `${head('apart', count, true)}
${each(count, (k) => `  stack c${k} > d${k} > c${k + 1}`)}
  sensor go on c0 { pressure above 1.5 bar  clears below 1.2 bar }
${each(count, (k) => `  signal s${k} = TOF(go and not hold, ${k * 200 + 150} ms)\n  drive d${k} = s${k}`)}
  signal hold = TOF(s${count - 1}, 5 s)
}
`,
  'doors that follow one another': (count) => `${head('chained', count, true)}
${each(count, (k) => `  stack c${k} > d${k} > c${k + 1}`)}
  sensor go on c0 { pressure above 1.5 bar  clears below 1.2 bar }
${each(count, (k) => `  signal s${k} = TP(${k === 0 ? 'go' : `TOF(s${k - 1}, 40 ms) and not s${k - 1}`}, 150 ms)\n  drive d${k} = s${k}`)}
}
`,
  'doors with a requirement each': (count) => `${head('required', count, true)}
${each(count, (k) => `  stack c${k} > d${k} > c${k + 1}`)}
  sensor go on c0 { pressure above 1.5 bar  clears below 1.2 bar }
${each(count, (k) => `  drive d${k} = TP(TON(go, ${k * 200} ms), 500 ms)`)}
${each(count - 1, (k) => `  require overlap(d${k}, d${k + 1}) >= 100 ms`)}
}
`,
  'a sensor for each door': (count) => `${head('sensed', count, true)}
${each(count, (k) => `  stack c${k} > d${k} > c${k + 1}\n  sensor n${k} on c${k} { pressure above 1.5 bar  clears below 1.2 bar }\n  drive d${k} = TP(n${k}, ${150 + k} ms)`)}
}
`,
  'steps of a sequence': (count) => `${head('stepped', count, true)}
${each(count, (k) => `  stack c${k} > d${k} > c${k + 1}`)}
  sensor go on c0 { pressure above 1.5 bar  clears below 1.2 bar }
  sequence stroke on go {
${each(count, (k) => `    at ${k * 300} ms open d${k}\n    at ${k * 300 + 250} ms close d${k}`)}
    repeat after ${count * 300 + 1000} ms
  }
}
`,
};

const only = process.env.GROWTH_TEXT?.split(':');
if (only) console.log(SHAPES[only[0]!]!(Number(only[1])));
else
  for (const [name, textOf] of Object.entries(SHAPES)) {
    let before: { count: number; time: number } | null = null;
    for (const count of [100, 200, 400]) {
      const text = textOf(count);
      let problems = 0;
      const time = median(
        Array.from({ length: 3 }, (_, version) => {
          const start = performance.now();
          problems = createDocument({ uri: 'file:///bench.rig', version, text }, () => undefined).problems().length;
          return performance.now() - start;
        }),
      );
      const expected = before && (before.time * (count * Math.log2(count))) / (before.count * Math.log2(before.count));
      console.log(
        `${count} ${name}: ${time.toFixed(0)} ms (target for 400: 1,500 ms), ${problems} problems${expected ? `; growth ${(time / expected).toFixed(2)} (1: n log n)` : ''}`,
      );
      before = { count, time };
    }
  }
