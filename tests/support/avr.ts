/**
 * Runs exported C on a machine whose `int` has 16 bits: avr-gcc compiles it strictly for an ATmega2560, simavr runs it, and the output
 * changes come back over its serial line. The main of the export is left out, as such a machine has no standard input.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { CFiles } from '../../server/core/report/exports/c';
import { outputsOf } from '../../server/core/report/exports/outputs';
import type { Rig } from '../../server/core/model/rig';
import { initialInputs } from '../../server/core/timing/engine';
import { STRICT } from './compiled';
import type { Stimulus } from './random';

const CHIP = '-mmcu=atmega2560';

/** Whether compiler and simulator are there. */
export function hasAvr(): boolean {
  return spawnSync('avr-gcc', ['--version']).status === 0 && !spawnSync('simavr', ['--help']).error;
}

/** Output changes `t name 0|1`, in order; `fault` at the end where the program says so. */
export function runOnAvr(files: CFiles, rig: Rig, stimuli: readonly Stimulus[], until: number): string[] {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-avr-'));
  try {
    writeFileSync(join(folder, `${files.name}.h`), files.header);
    writeFileSync(join(folder, `${files.name}.c`), files.source);
    writeFileSync(join(folder, 'harness.c'), harness(files.name, rig, stimuli, until));
    const strict = [...STRICT, '-Wconversion', CHIP, '-Os', '-c', `${files.name}.c`];
    const link = ['-std=gnu99', CHIP, '-Os', '-o', 'run.elf', 'harness.c', `${files.name}.o`];
    for (const flags of [strict, link]) {
      const built = spawnSync('avr-gcc', flags, { cwd: folder, encoding: 'utf8' });
      if (built.status !== 0) throw new Error(`avr-gcc: ${built.stderr}`);
    }
    const ran = spawnSync('simavr', ['-m', 'atmega2560', '-f', '16000000', 'run.elf'], {
      cwd: folder,
      encoding: 'utf8',
      timeout: 60_000,
    });
    const names = outputsOf(rig).map((o) => o.name);
    const lines = [...`${ran.stdout}${ran.stderr}`.matchAll(/(?:(\d+) (\d+) ([01])|(fault|done))\./g)];
    if (lines.at(-1)?.[4] === undefined) throw new Error('simavr: the program did not come to its end');
    return lines.flatMap(([, t, output, value, word]) =>
      word === undefined ? [`${t} ${names[Number(output)]} ${value}`] : word === 'fault' ? ['fault'] : [],
    );
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function harness(name: string, rig: Rig, stimuli: readonly Stimulus[], until: number): string {
  const nets = rig.network.nets.flatMap((net, index) => (net.kind === 'element' ? [] : [index]));
  const initially = initialInputs(rig);
  const initial = nets.map((net) => (initially(net) ? 1 : 0));
  const sorted = [...stimuli].sort((a, b) => a.t - b.t);
  const rows = [...sorted.map((s) => [s.t, nets.indexOf(s.net), s.value ? 1 : 0]), [until, -1, 0]];
  const outputs = outputsOf(rig).length;
  return `#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/interrupt.h>
#include <avr/pgmspace.h>
#include "${name}.h"
typedef char int_has_16_bits[sizeof(int) == 2 ? 1 : -1];
typedef struct { uint64_t t; int8_t input; uint8_t value; } change;
static const PROGMEM change changes[] = { ${rows.map(([t, i, v]) => `{UINT64_C(${t}), ${i}, ${v}}`).join(', ')} };
static ${name}_state state;
static uint8_t in[] = { ${initial.join(', ') || '0'} }, out[${Math.max(1, outputs)}], shown[${Math.max(1, outputs)}];
static void put(char c) { while (!(UCSR0A & (1 << UDRE0))); UDR0 = (uint8_t)c; }
static void text(const char *s) { while (*s) put(*s++); }
static void number(uint64_t n) { if (n > 9) number(n / 10); put((char)('0' + (int)(n % 10))); }
static void go(uint64_t t) {
  ${name}_step(&state, t, in, out);
  for (uint8_t i = 0; i < ${outputs}; i++)
    if (out[i] != shown[i]) { shown[i] = out[i]; number(t); put(' '); number(i); put(' '); number(out[i]); put('\\n'); }
}
int main(void) {
  uint64_t at = 0, next;
  UCSR0B = 1 << TXEN0;
  ${name}_init(&state, 0);
  for (uint16_t k = 0; k < ${rows.length}; k++) {
    change c;
    memcpy_P(&c, &changes[k], sizeof c);
    if (c.t > at) {
      go(at);
      while ((next = ${name}_next(&state)) < c.t) go(next);
      at = c.t;
    }
    if (c.input >= 0) in[c.input] = c.value;
  }
  go(at);
  text(state.fault ? "fault\\n" : "done\\n");
  cli(); sleep_enable(); sleep_cpu();
  return 0;
}
`;
}
