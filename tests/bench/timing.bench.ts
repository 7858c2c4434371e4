/**
 * The event engine against Icarus Verilog and compiled Verilator on the same control network and horizon, with pattern closing off;
 * then a billion strokes with it on. The Verilog is written for speed here (one process a block, no bookkeeping), unlike the oracle's.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Element, Logic, Rig } from '../../server/core/model/rig';
import { analyseTiming } from '../../server/core/timing/analyse';
import { createEngine } from '../../server/core/timing/engine';
import { countEdges, stateAt } from '../support/horizon';
import { MS, S, TOF, TON, and, netOf, not, sketch, workedExample } from '../support/network';
import type { SignalSketch, Term } from '../support/network';

/** `trains` three-door trains on one sensor, each with presets of its own, so that their edges drift apart. */
function manyTrains(trains: number): Rig {
  const signals: Record<string, Term | SignalSketch> = {};
  for (let i = 0; i < trains; i++) {
    signals[`start${i}`] = and('run', 'ready', not(`hold${i}`));
    signals[`upper${i}`] = TOF(`start${i}`, (1500 + 7 * i) * MS);
    signals[`middle${i}`] = TOF(`start${i}`, (2500 + 11 * i) * MS);
    signals[`lower${i}`] = TOF(TON(`middle${i}`, 2 * S), 1 * S);
    signals[`hold${i}`] = TOF(`upper${i}`, 10 * S);
  }
  return sketch({ response: 50 * MS, switches: { run: true }, sensors: { ready: 'above' }, signals });
}

function expression(logic: Logic): string {
  if (logic.op === 'net') return `n${logic.net}`;
  if (logic.op === 'const') return logic.value ? "1'b1" : "1'b0";
  if (logic.op === 'not') return `~${expression(logic.a)}`;
  return `(${expression(logic.a)} ${{ and: '&', or: '|', xor: '^' }[logic.op]} ${expression(logic.b)})`;
}

function netsIn(logic: Logic): number[] {
  if (logic.op === 'net') return [logic.net];
  if (logic.op === 'const') return [];
  return logic.op === 'not' ? netsIn(logic.a) : [...netsIn(logic.a), ...netsIn(logic.b)];
}

function process_(e: Element, i: number): string {
  const x = expression(e.inputs[0]);
  const r = e.response.nominal;
  const on = `always @(${[...new Set(netsIn(e.inputs[0]))].map((n) => `n${n}`).join(' or ')})`;
  if (e.kind === 'LOGIC') return `${on} n${e.net} <= #${r} ${x};`;
  const [timed, pt] = [e.kind === 'TON' ? 1 : 0, e.preset!.nominal];
  return (
    `reg [31:0] k${i} = 0, f${i} = 0; reg m${i} = 0; ` +
    `${on} if ((${x}) != m${i}) begin m${i} = ${x}; k${i} = k${i} + 1; ` +
    `if (m${i} == ${timed}) f${i} <= #${pt} k${i}; else n${e.net} <= #${r} ${1 - timed}; end ` +
    `always @(f${i}) if (f${i} == k${i}) n${e.net} <= #${r} ${timed};`
  );
}

function bench(rig: Rig, until: number): string {
  const run = netOf(rig, 'run');
  const ready = netOf(rig, 'ready');
  return [
    '`timescale 1ns/1ns',
    'module bench;',
    ...rig.network.nets.map((_, n) => `reg n${n} = ${n === run ? 1 : 0};`),
    `reg [63:0] edges = 0;`,
    ...rig.network.elements.map(process_),
    ...rig.network.elements.map((e) => `always @(n${e.net}) edges = edges + 1;`),
    `initial begin #1000000 n${ready} = 1; #(64'd${until - 1_000_000}) $display("edges %0d", edges); $finish(0); end`,
    'endmodule',
  ].join('\n');
}

interface Measured {
  readonly name: string;
  readonly edges: number;
  readonly ms: number;
}

/** User and system time of a finished child, ms: the machine may be shared. */
function timed(command: string, args: readonly string[]): { ms: number; out: string } {
  const before = process.resourceUsage();
  void before;
  const result = spawnSync('bash', ['-c', `TIMEFORMAT='cpu %U %S'; time "$0" "$@"`, command, ...args], {
    encoding: 'utf8',
  });
  if (result.status !== 0) throw new Error(`${command}: ${result.stderr}`);
  const cpu = /cpu ([\d.]+) ([\d.]+)/.exec(result.stderr)!;
  return { ms: (Number(cpu[1]) + Number(cpu[2])) * 1000, out: result.stdout };
}

const has = (command: string): boolean => spawnSync('bash', ['-c', `command -v ${command}`]).status === 0;
const edgesIn = (out: string): number => Number(/edges (\d+)/.exec(out)![1]);

function icarus(rig: Rig, until: number, folder: string): Measured | null {
  if (!has('iverilog')) return null;
  writeFileSync(join(folder, 'bench.v'), bench(rig, until));
  timed('iverilog', ['-g2005-sv', '-o', join(folder, 'bench.vvp'), join(folder, 'bench.v')]);
  const { ms, out } = timed('vvp', ['-n', join(folder, 'bench.vvp')]);
  return { name: 'Icarus Verilog', edges: edgesIn(out), ms };
}

function verilator(rig: Rig, until: number, folder: string): Measured | null {
  if (!has('verilator')) return null;
  writeFileSync(join(folder, 'bench.v'), bench(rig, until));
  const args = ['--binary', '--timing', '-O3', '-CFLAGS', '-O2', '-Wno-fatal', '--Mdir', join(folder, 'obj')];
  timed('verilator', [...args, '--top-module', 'bench', join(folder, 'bench.v')]);
  const { ms, out } = timed(join(folder, 'obj/Vbench'), []);
  return { name: 'Verilator (compiled)', edges: edgesIn(out), ms };
}

function engine(rig: Rig, until: number): Measured {
  let best = Infinity;
  let edges = 0;
  for (let round = 0; round < 6; round++) {
    const stepper = createEngine(rig, { record: 'none', budget: Infinity });
    stepper.setInput(netOf(rig, 'ready'), true, 1 * S);
    const before = process.cpuUsage();
    stepper.advanceTo(until);
    const { user, system } = process.cpuUsage(before);
    best = Math.min(best, (user + system) / 1000);
    edges = stepper.edgeCount;
  }
  return { name: 'event engine', edges, ms: best };
}

const rate = (m: Measured): number => m.edges / m.ms / 1000;

function race(title: string, rig: Rig, strokes: number): void {
  const until = 1 * S + strokes * 11_800 * MS;
  const folder = mkdtempSync(join(tmpdir(), 'caisson-bench-'));
  try {
    const us = engine(rig, until);
    console.log(`${title}: ${rig.network.elements.length} elements, ${strokes} strokes`);
    for (const m of [us, icarus(rig, until, folder), verilator(rig, until, folder)]) {
      if (m === null) continue;
      const ratio = (rate(us) / rate(m)).toFixed(1);
      console.log(
        `  ${m.name.padEnd(22)} ${m.edges} edges in ${m.ms.toFixed(0)} ms cpu: ${rate(m).toFixed(2)} M edges/s; engine ${ratio} times as fast`,
      );
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function billion(): void {
  const rig = workedExample();
  const start = performance.now();
  const [stroke] = analyseTiming(rig).strokes;
  const horizon = 1e9 * stroke.repeat!;
  const edges = countEdges(stroke, horizon);
  const state = stateAt(stroke, horizon + S);
  const ms = performance.now() - start;
  console.log(
    `a billion strokes, analysis included: ${edges} edges, upper ${state.openings[0]} open 1 s later, in ${ms.toFixed(2)} ms`,
  );
}

billion();
race('worked example', workedExample(), 200_000);
race('eight trains', manyTrains(8), 20_000);
billion();
