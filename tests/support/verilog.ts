/**
 * An oracle for the event engine that shares no code with it: a control network and its stimulus written as a Verilog test bench, run by
 * Icarus Verilog, its edges read back.
 *
 * One microsecond is 65536 steps of Verilog time, a round is four of them: on the first nets change, on the second joins (logic without
 * a response) settle, on the third the other blocks look. Every timer has a slot of its own in each microsecond, after the rounds of
 * what else happens in it and with room for rounds before the next slot; slots stand in the order in which timers feed each other. So
 * nothing rests on the order in which a simulator takes events of one step, and pulses of no width keep their two edges. The blocks
 * are written from the rules of IEC 61131-3 with times of start, not with running timers; orders are found by plain reachability.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Element, Logic, Rig } from '../../server/core/model/rig';
import type { Stimulus } from './random';

export interface OracleCase {
  readonly rig: Rig;
  readonly stimuli: readonly Stimulus[];
  readonly until: number;
}
/** Edges `t net value` in order of time, delta step and net; `loop` is the time at which a loop was seen that does not settle. */
export interface OracleResult {
  readonly edges: readonly { readonly t: number; readonly net: number; readonly value: boolean }[];
  readonly loop: number | null;
}

const STEPS = 65536;
const ROUND = 4;
const SETTLE = 1;
const LOOK = 2;
/** First slot of a timer, and the steps between slots. What still goes on in the last round before a slot is called a loop. */
const FIRST_SLOT = 16384 + LOOK;
const SLOT = 512;
function slotStep(slot: number): number {
  const step = FIRST_SLOT + slot * SLOT;
  if (step + SLOT > STEPS) throw new Error(`the oracle has slots for ${(STEPS - FIRST_SLOT) / SLOT} elements only`);
  return step;
}

/** Orders of the elements of a rig in response style, by reachability alone. */
interface Orders {
  /** Joins in groups that settle one after the other; more than one (or one that reads itself) is a loop. */
  readonly joins: readonly { readonly members: readonly number[]; readonly loops: boolean }[];
  readonly slotOf: readonly number[];
}

const isJoin = (rig: Rig, e: number): boolean =>
  rig.controller.style !== 'scan' &&
  rig.network.elements[e].kind === 'LOGIC' &&
  rig.network.elements[e].response.nominal === 0;

function ordersOf(rig: Rig): Orders {
  const { elements } = rig.network;
  const all = elements.map((_, e) => e);
  const joins = all.filter((e) => isJoin(rig, e));
  const atOnce = all.filter((e) => elements[e].response.nominal === 0);
  const due = all.filter((e) => /^T|_TRIG$/.test(elements[e].kind));
  const joined = placed(reach(rig, joins, joins), joins);
  const timers = placed(reach(rig, atOnce, all), due).flatMap((g) => g.members);
  return { joins: joined, slotOf: all.map((e) => timers.indexOf(e)) };
}

/** For each pair of elements whether the first feeds the second, directly or through others; only those in `through` pass on. */
function reach(rig: Rig, through: readonly number[], to: readonly number[]): boolean[][] {
  const { elements } = rig.network;
  const feeds = elements.map((a, i) =>
    elements.map(
      (b, j) => through.includes(i) && to.includes(j) && b.inputs.some((logic) => reads(logic, new Set()).has(a.net)),
    ),
  );
  for (let k = 0; k < feeds.length; k++)
    for (let i = 0; i < feeds.length; i++)
      if (feeds[i][k]) for (let j = 0; j < feeds.length; j++) feeds[i][j] ||= feeds[k][j];
  return feeds;
}

/** Groups that feed themselves stay together; always the first written one that waits for none of the others is next. */
function placed(feeds: boolean[][], list: readonly number[]): { members: number[]; loops: boolean }[] {
  const left = new Set(list);
  const groups: { members: number[]; loops: boolean }[] = [];
  while (left.size > 0) {
    const free = [...left].find((e) => [...left].every((o) => !feeds[o][e] || feeds[e][o]))!;
    const members = [...left].filter((o) => o === free || (feeds[o][free] && feeds[free][o])).sort((a, b) => a - b);
    members.forEach((e) => left.delete(e));
    groups.push({ members, loops: feeds[free][free] });
  }
  return groups;
}

function expression(logic: Logic): string {
  switch (logic.op) {
    case 'net':
      return `n${logic.net}`;
    case 'const':
      return logic.value ? "1'b1" : "1'b0";
    case 'not':
      return `(!${expression(logic.a)})`;
    case 'and':
      return `(${expression(logic.a)} && ${expression(logic.b)})`;
    case 'or':
      return `(${expression(logic.a)} || ${expression(logic.b)})`;
    case 'xor':
      return `(${expression(logic.a)} != ${expression(logic.b)})`;
  }
}

function reads(logic: Logic, into: Set<number>): Set<number> {
  if (logic.op === 'net') into.add(logic.net);
  else if (logic.op === 'not') reads(logic.a, into);
  else if (logic.op !== 'const') {
    reads(logic.a, into);
    reads(logic.b, into);
  }
  return into;
}

/** New value of Q for one look at the inputs `x`, `y` at microsecond `us`; `m` is the input seen before, `t0` the time of start. */
function look(e: Element, i: number): string {
  const pt = e.preset?.nominal ?? 0;
  switch (e.kind) {
    case 'LOGIC':
      return `q = x;`;
    case 'TON':
      return `if (x && !m${i}) t0_${i} = us; m${i} = x; q = x && (us - t0_${i} >= ${pt}) && (q${i} || ${pt} == 0 || expired);`;
    case 'TOF':
      return `if (!x && m${i}) t0_${i} = us; m${i} = x; q = x || (q${i} && (us - t0_${i} < ${pt} || (!expired && ${pt} != 0)));`;
    case 'TP':
      return (
        `if (x && !m${i} && !busy${i} && ${pt} != 0) begin busy${i} = 1; t0_${i} = us; end m${i} = x; ` +
        `if (expired && us - t0_${i} >= ${pt}) busy${i} = 0; q = busy${i};`
      );
    case 'R_TRIG':
    case 'F_TRIG':
      return `clk = ${e.kind === 'R_TRIG' ? 'x' : '!x'}; rise = clk && !m${i}; m${i} = clk; if (rise) t0_${i} = us;`;
    case 'SR':
      return `q = x || (!y && q${i});`;
    case 'RS':
      return `q = !y && (x || q${i});`;
    case 'CTU':
      return `rise = x && !m${i}; m${i} = x; if (y) cv${i} = 0; else if (rise && cv${i} < 32767) cv${i} = cv${i} + 1; q = cv${i} >= ${e.count};`;
  }
}

function declarations(rig: Rig): string[] {
  const initially = new Set(rig.switches.filter((s) => s.initial).map((s) => s.net));
  rig.sensors.filter((s) => s.initiallyOn ?? s.on?.side === 'below').forEach((s) => initially.add(s.net));
  const nets = rig.network.nets.map((_, n) => {
    const first = initially.has(n) ? 1 : 0;
    return `  reg n${n} = ${first}; reg was${n} = ${first};`;
  });
  const elements = rig.network.elements.map(
    (_, i) =>
      `  reg q${i} = 0, m${i} = 0, busy${i} = 0, wait${i} = 0, tick${i} = 0; integer cv${i} = 0; time t0_${i} = 0, last${i} = 0; reg [63:0] check${i} = 0;`,
  );
  const joins = elements.length > 0 ? [`  reg ${rig.network.elements.map((_, i) => `z${i} = 0`).join(', ')};`] : [];
  const own = '  reg busy = 0, joinWait = 0, joinTick = 0; integer turns = 0;';
  return [...nets, ...elements, ...joins, own, '  reg x, y, q, clk, rise, expired; time us, due; reg dead = 0;'];
}

function watch(rig: Rig, id: number): string[] {
  return rig.network.nets.map(
    (_, n) =>
      `  always @(n${n}) if (!dead && n${n} !== was${n}) begin was${n} = n${n}; $display("${id} %0d ${n} %0d", $time, n${n}); end`,
  );
}

function stimulus({ rig, stimuli, until }: OracleCase): string[] {
  const lines: string[] = [];
  let at = 0;
  const offsets = new Map<string, number>();
  const steps = stimuli.map((s) => {
    const again = offsets.get(`${s.t} ${s.net}`) ?? 0;
    offsets.set(`${s.t} ${s.net}`, again + ROUND);
    return { at: s.t * STEPS + again, net: s.net, value: s.value };
  });
  steps.sort((a, b) => a.at - b.at);
  for (const step of steps) {
    if (step.at > at) lines.push(`    #${step.at - at};`);
    at = Math.max(at, step.at);
    lines.push(`    n${step.net} = ${step.value ? 1 : 0};`);
  }
  const inputs = rig.network.nets.length;
  const end = (until + 1) * STEPS - 1;
  return inputs === 0 ? [] : ['  initial begin', ...lines, '  end', `  initial begin #${end}; dead = 1; end`];
}

/** Sends `value` on its way from block `i`: to the next round without response, else to the first free round of its microsecond. */
function send(e: Element, i: number, value: string): string {
  if (e.response.nominal === 0) return `n${e.net} <= #${ROUND - LOOK} ${value};`;
  return (
    `due = (us + ${e.response.nominal}) * ${STEPS}; if (due <= last${i}) due = last${i} + ${ROUND}; last${i} = due; ` +
    `n${e.net} <= #(due - $time) ${value};`
  );
}

/** The process in which all joins settle, once a round. */
function joinProcess(rig: Rig, { joins }: Orders, id: number): string[] {
  if (joins.length === 0) return [];
  const { elements } = rig.network;
  const nets = new Set<number>();
  for (const { members } of joins) for (const e of members) reads(elements[e].inputs[0], nets);
  const own = new Set(joins.flatMap((g) => g.members.map((e) => elements[e].net)));
  const outside = [...nets].filter((n) => !own.has(n));
  const lines = joins.flatMap(({ members, loops }) => {
    const sets = members.map((e) => `z${e} = ${expression(elements[e].inputs[0])};`);
    const puts = members.map((e) => `n${elements[e].net} = z${e};`);
    if (!loops) return [...sets, ...puts];
    const moved = members.map((e) => `(n${elements[e].net} !== z${e})`).join(' || ');
    return [
      'busy = 1; turns = 0;',
      `while (busy && turns < 4000) begin ${sets.join(' ')} busy = ${moved}; ${puts.join(' ')} turns = turns + 1; end`,
      `if (busy) begin if (!dead) $display("${id} %0d loop 0", $time); dead = 1; end`,
    ];
  });
  const waking = `if (!dead && !joinWait) begin joinWait = 1; joinTick <= #${SETTLE} ~joinTick; end`;
  return [
    `  initial begin joinWait = 1; joinTick <= #${SETTLE} 1'b1; end`,
    ...(outside.length > 0 ? [`  always @(${outside.map((n) => `n${n}`).join(' or ')}) ${waking}`] : []),
    `  always @(joinTick) begin joinWait = 0; if (!dead) begin ${lines.join(' ')} end end`,
  ];
}

function responseElement(rig: Rig, e: Element, i: number, id: number, orders: Orders): string[] {
  if (isJoin(rig, i)) return [];
  const nets = [...new Set(e.inputs.flatMap((logic) => [...reads(logic, new Set())]))];
  const out: string[] = [];
  const wake = `if (!dead && !wait${i}) begin wait${i} = 1; tick${i} <= #(${LOOK} - ($time % ${ROUND})) ~tick${i}; end`;
  out.push(`  initial begin wait${i} = 1; tick${i} <= #${LOOK} 1'b1; end`);
  if (nets.length > 0) out.push(`  always @(${nets.map((n) => `n${n}`).join(' or ')}) ${wake}`);
  const inputs = `x = ${expression(e.inputs[0])}; y = ${e.inputs[1] ? expression(e.inputs[1]) : "1'b0"};`;
  const guard =
    `if ($time % ${STEPS} >= ${FIRST_SLOT - ROUND} && ($time % ${STEPS} - ${FIRST_SLOT}) % ${SLOT} == ${SLOT - ROUND} || $time % ${STEPS} == ${FIRST_SLOT - ROUND}) ` +
    `begin if (!dead) $display("${id} %0d loop 0", $time); dead = 1; end`;
  const prelude = (expired: number) => `us = $time / ${STEPS}; expired = ${expired}; q = q${i}; ${inputs}`;
  const settle = `if (q !== q${i}) begin q${i} = q; ${send(e, i, 'q')} end`;
  const pt = e.preset?.nominal ?? 0;
  const checkAt = (delay: number) =>
    `due = (us + ${delay}) * ${STEPS} + ${slotStep(orders.slotOf[i])}; check${i} <= #(due - $time) us + 1;`;

  if (e.kind === 'R_TRIG' || e.kind === 'F_TRIG') {
    const r = e.response.nominal;
    const pulse =
      r === 0
        ? `if (rise) begin n${e.net} <= #${ROUND - LOOK} 1'b1; n${e.net} <= #${2 * ROUND - LOOK} 1'b0; end`
        : `if (rise) begin if (!q${i}) begin q${i} = 1; ${send(e, i, "1'b1")} end ${checkAt(r)} end`;
    out.push(`  always @(tick${i}) begin wait${i} = 0; ${guard} ${prelude(0)} ${look(e, i)} ${pulse} end`);
    if (r > 0)
      out.push(
        `  always @(check${i}) begin us = $time / ${STEPS}; if (!dead && q${i} && us - t0_${i} >= ${r}) begin q${i} = 0; ${send(e, i, "1'b0")} end end`,
      );
    return out;
  }
  const timed = pt > 0 ? `if (us == t0_${i}) begin ${checkAt(pt)} end` : '';
  out.push(`  always @(tick${i}) begin wait${i} = 0; ${guard} ${prelude(0)} ${look(e, i)} ${settle} ${timed} end`);
  if (pt > 0) out.push(`  always @(check${i}) if (!dead) begin ${prelude(1)} ${look(e, i)} ${settle} end`);
  return out;
}

function scanElement(e: Element, i: number): string {
  const inputs = `x = ${expression(e.inputs[0])}; y = ${e.inputs[1] ? expression(e.inputs[1]) : "1'b0"};`;
  const trigger = e.kind === 'R_TRIG' || e.kind === 'F_TRIG' ? 'q = rise;' : '';
  return `      q = q${i}; ${inputs} ${look(e, i)} ${trigger} q${i} = q; n${e.net} = q;`;
}

function scanProcess(rig: Rig): string[] {
  const period = rig.controller.time.nominal * STEPS;
  return [
    '  initial begin',
    '    #1001;',
    '    while (!dead) begin',
    `      us = $time / ${STEPS}; expired = 1;`,
    ...rig.network.elements.map(scanElement),
    `      #${period};`,
    '    end',
    '  end',
  ];
}

function benchModule(c: OracleCase, id: number): string {
  const { rig } = c;
  const body = rig.controller.style === 'scan' ? scanProcess(rig) : responseProcesses(rig, id);
  return [`module case${id};`, ...declarations(rig), ...watch(rig, id), ...stimulus(c), ...body, 'endmodule'].join(
    '\n',
  );
}

function responseProcesses(rig: Rig, id: number): string[] {
  const orders = ordersOf(rig);
  const elements = rig.network.elements.flatMap((e, i) => responseElement(rig, e, i, id, orders));
  return [...joinProcess(rig, orders, id), ...elements];
}

/** Whole bench file of several networks, each a module of its own. */
export function verilogBench(cases: readonly OracleCase[]): string {
  const until = Math.max(...cases.map((c) => c.until));
  const stop = `module stop; initial begin #${(until + 2) * STEPS}; $finish(0); end endmodule`;
  return ['`timescale 1ns/1ns', ...cases.map(benchModule), stop, ''].join('\n');
}

/** Whether Icarus Verilog is there. */
export function hasIcarus(): boolean {
  return spawnSync('vvp', ['-V']).status === 0;
}

/** Runs the cases in Icarus Verilog; results in the order of the cases. */
export function runIcarus(cases: readonly OracleCase[]): OracleResult[] {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-oracle-'));
  try {
    const source = join(folder, 'bench.v');
    const program = join(folder, 'bench.vvp');
    writeFileSync(source, verilogBench(cases));
    const compiled = spawnSync('iverilog', ['-g2005-sv', '-o', program, source], { encoding: 'utf8' });
    if (compiled.status !== 0) throw new Error(`iverilog: ${compiled.stderr || compiled.error}`);
    const ran = spawnSync('vvp', ['-n', program], { encoding: 'utf8', maxBuffer: 1 << 30 });
    if (ran.status !== 0) throw new Error(`vvp: ${ran.stderr || ran.error}`);
    return readResults(ran.stdout, cases.length);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function readResults(text: string, cases: number): OracleResult[] {
  const found = Array.from({ length: cases }, () => ({
    edges: [] as { step: number; net: number; value: boolean }[],
    loop: null as number | null,
  }));
  for (const line of text.split('\n')) {
    const match = /^(\d+) (\d+) (\d+|loop) ([01])$/.exec(line);
    if (!match) continue;
    const into = found[Number(match[1])];
    const step = Number(match[2]);
    if (match[3] === 'loop') into.loop ??= Math.floor(step / STEPS);
    else into.edges.push({ step, net: Number(match[3]), value: match[4] === '1' });
  }
  return found.map(({ edges, loop }) => ({
    loop,
    edges: edges
      .sort((a, b) => a.step - b.step || a.net - b.net)
      .map(({ step, net, value }) => ({ t: Math.floor(step / STEPS), net, value })),
  }));
}
