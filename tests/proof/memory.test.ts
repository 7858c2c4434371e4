/**
 * The memory budget of a proof holds within reason for the whole program: on a long sequence (hundreds of timers that run together), many
 * free sensors, and many doors with tolerances. What is looked at is the greatest memory of a process of its own, so only where
 * the system tells it.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { bundleProgram } from '../lsp/bundle';

const many = (count: number, line: (i: number) => string): string =>
  Array.from({ length: count }, (_, i) => line(i)).join('\n');

/** Two doors moved in turn by a sequence of so many steps. */
const sequence = (steps: number): string => `rig long {
  door inner { pocket 60 L  travel 400 ms }
  door outer { pocket 60 L  travel 400 ms }
  chamber hall { volume 4 m3 }
  chamber lobby { volume 500 L }
  stack hall > inner > outer > lobby
  controller { response 50 ms }
  switch run = off
  sequence plan on run {
${many(steps, (i) => `    at ${2 * i + 2} s  ${i % 2 === 0 ? 'open' : 'close'} ${i % 4 < 2 ? 'inner' : 'outer'}`)}
  }
}
`;

const SENSORS = `rig sensors {
  controller { response 40 ms +- 10 ms }
${many(12, (i) => `  chamber c${i} { volume 1 m3 }\n  sensor s${i} on c${i} { pressure above 1.5 bar  clears below 1.2 bar }`)}
  chamber end { volume 1 m3 }
  door first { pocket 10 L  travel 400 ms }
  door last { pocket 10 L  travel 400 ms }
  stack c0 > first > last > end
${many(12, (i) => `  signal t${i} = TON(s${i}, ${i + 1} s)`)}
  drive first = t0 or t1 or t2 or t3 or t4 or t5
  drive last = (t6 or t7 or t8 or t9 or t10 or t11) and not t0
}
`;

const DOORS = `rig doors {
  controller { response 40 ms +- 10 ms }
  chamber top { volume 1 m3 }
  chamber bottom { volume 1 m3 }
  sensor full on top { pressure above 1.5 bar  clears below 1.2 bar }
  switch go = off
${many(8, (i) => `  door d${i} { pocket 10 L  travel 500 ms +- 100 ms }`)}
  stack top > ${many(8, (i) => `d${i}`).replaceAll('\n', ' > ')} > bottom
${many(8, (i) => `  signal k${i} = TP(TON(${i % 2 === 0 ? 'full' : 'go'}, ${3 * i + 1} s +- 10 %), 2 s +- 10 %)\n  drive d${i} = k${i}`)}
}
`;

/** Four doors with a timer each, in scan style: its states have no zones. */
const SCANNED = `rig scanned {
  controller { scan 20 ms }
  chamber top { volume 1 m3 }
  chamber bottom { volume 1 m3 }
  sensor full on top { pressure above 1.5 bar  clears below 1.2 bar }
  switch go = off
  switch hold = off
${many(4, (i) => `  door d${i} { pocket 10 L  travel 500 ms }`)}
  stack top > d0 > d1 > d2 > d3 > bottom
${many(4, (i) => `  signal k${i} = TP(TON(${['full', 'go', 'hold', 'full or go'][i]}, ${3 * i + 1} s), 2 s)\n  drive d${i} = k${i}`)}
}
`;

let program = '';
beforeAll(async () => {
  program = await bundleProgram();
});

/** The greatest memory of `prove` with a budget of so many MiB, in MB. The program is loaded by one that reads its own figure at the end. */
function peak(text: string, memory = '64', seconds = '5'): { readonly megabytes: number; readonly out: string } {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-memory-'));
  const rig = join(folder, 'rig.rig');
  writeFileSync(rig, text);
  const watcher = join(folder, 'watch.cjs');
  writeFileSync(
    watcher,
    "process.on('exit', () => require('node:fs').writeSync(2, /VmHWM:\\s+(\\d+)/.exec(require('node:fs').readFileSync('/proc/self/status', 'utf8'))[1]));",
  );
  const args = ['--require', watcher, program, 'prove', rig, '--memory', memory, '--seconds', seconds];
  const { stdout, stderr } = spawnSync(process.execPath, args, { encoding: 'utf8' });
  return { megabytes: Number(/(\d+)$/.exec(stderr)![1]) / 1024, out: stdout };
}

describe.runIf(existsSync('/proc/self/status'))('the memory of a proof', () => {
  it.each([
    ['a sequence of 500 steps', sequence(500)],
    ['twelve free sensors', SENSORS],
    ['eight doors with tolerances', DOORS],
    ['four doors in scan style', SCANNED],
  ])(
    'stays near its budget: %s',
    (_, text) => {
      const { megabytes, out } = peak(text);
      expect(out).toMatch(/proved|undecided/);
      expect(megabytes).toBeLessThan(64 + 400);
    },
    300_000,
  );
  // A budget that ends nothing would pass above on any machine too slow to fill it: here the states are all that is given.
  it.each([
    ['response style', DOORS],
    ['scan style', SCANNED],
  ])('is a budget in %s', (_, text) => {
    const { out } = peak(text, '1', '60');
    expect(out).toMatch(/the budget of 1 MiB ran out after \d+ symbolic states; caisson prove --memory gives more/);
  });
});
