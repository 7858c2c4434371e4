/** The event engine against Icarus Verilog, edge for edge: times, values and order, pulses of no width included. */
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { resolveFile } from '../../server/core/model/resolve';
import type { Rig } from '../../server/core/model/rig';
import { initialInputs } from '../../server/core/timing/engine';
import { createEngine } from '../../server/core/timing/engine';
import { randomCase } from '../support/random';
import type { Stimulus } from '../support/random';
import { inRounds } from '../support/rounds';
import { hasIcarus, runIcarus } from '../support/verilog';
import type { OracleCase, OracleResult } from '../support/verilog';

function ours({ rig, stimuli, until }: OracleCase): OracleResult {
  const engine = createEngine(rig);
  for (const s of stimuli) engine.setInput(s.net, s.value, s.t);
  engine.advanceTo(until);
  const { edges, stopped } = engine.trace();
  expect(stopped?.reason).not.toBe('budget');
  return {
    edges: edges.map(({ t, net, value }) => ({ t, net, value })),
    loop: stopped?.reason === 'loop' ? stopped.t : null,
  };
}

/** Edges as lines, up to the loop if there is one; of one scan in order of nets, as a scan writes all at once. */
function lines(result: OracleResult, c: OracleCase): string[] {
  const until = result.loop ?? Infinity;
  const edges = [
    ...inRounds(
      c.rig,
      result.edges.filter((e) => e.t < until),
    ),
  ];
  if (c.rig.controller.style === 'scan') edges.sort((a, b) => a.t - b.t || a.net - b.net);
  const end = result.loop === null ? [] : [`${result.loop} loop`];
  return [...edges.map((e) => `${e.t} ${c.rig.network.nets[e.net].name} ${e.value ? 1 : 0}`), ...end];
}

function compare(cases: readonly OracleCase[]): { edges: number; loops: number; noWidth: number } {
  const theirs = runIcarus(cases);
  const tally = { edges: 0, loops: 0, noWidth: 0 };
  cases.forEach((c, i) => {
    const result = ours(c);
    expect(lines(result, c), c.rig.name).toEqual(lines(theirs[i], c));
    tally.edges += result.edges.length;
    if (result.loop !== null) tally.loops++;
    tally.noWidth += result.edges.filter((e, j) =>
      result.edges.some((f, k) => k > j && f.t === e.t && f.net === e.net),
    ).length;
  });
  return tally;
}

const SAMPLES = join(__dirname, '../../samples');

/** Rigs of every sample, found at run time. */
function sampleRigs(): Rig[] {
  const files = readdirSync(SAMPLES, { recursive: true, encoding: 'utf8' }).filter((file) => file.endsWith('.rig'));
  return files.sort().flatMap((file) => {
    const text = readFileSync(join(SAMPLES, file), 'utf8');
    const { tree } = parse(text);
    const resolution = resolveFile({ uri: `file:///${file}`, tree, text }, () => null);
    return resolution.rigs.map((rig) => ({ ...rig, name: `${file} ${rig.name}` }));
  });
}

/** Every sensor flips on its own and is held; then every switch is thrown and thrown back while the rig strokes. */
function courseOf(rig: Rig): OracleCase {
  const SECOND = 1_000_000;
  const initially = initialInputs(rig);
  const stimuli: Stimulus[] = [];
  let t = 5 * SECOND;
  const flip = (net: number, after: number) => {
    stimuli.push({ t, net, value: !initially(net) });
    stimuli.push({ t: t + after, net, value: initially(net) });
    t += after + 20 * SECOND;
  };
  for (const sensor of rig.sensors) flip(sensor.net, 60 * SECOND);
  if (rig.sensors[0]) stimuli.push({ t, net: rig.sensors[0].net, value: !initially(rig.sensors[0].net) });
  t += 1_350_000;
  for (const s of rig.switches) flip(s.net, 7_123_457);
  stimuli.sort((a, b) => a.t - b.t);
  return { rig, stimuli, until: t + 30 * SECOND };
}

const there = hasIcarus();
if (!there && process.env['CI'])
  throw new Error('Icarus Verilog (iverilog) is missing: the oracle cannot be skipped here');
if (!there)
  console.warn('SKIPPED: Icarus Verilog (iverilog) is not installed, the event engine is not compared with it');

describe.skipIf(!there)('event engine = Icarus Verilog', () => {
  const first = Number(process.env['ORACLE_SEED'] ?? 1);
  const count = Number(process.env['ORACLE_CASES'] ?? 500);

  it('on every sample', () => {
    const rigs = sampleRigs();
    expect(rigs.length).toBeGreaterThan(5);
    const tally = compare(rigs.map(courseOf));
    console.log(`${rigs.length} sample rigs, ${tally.edges} edges`);
    expect(tally.edges).toBeGreaterThan(20 * rigs.length);
  });

  it(`on ${count} generated rigs from seed ${first}`, () => {
    const cases = Array.from({ length: count }, (_, i) => randomCase(first + i));
    const tally = compare(cases);
    console.log(`${tally.edges} edges, ${tally.noWidth} pulses of no width, ${tally.loops} rigs with loops`);
    expect(tally.edges).toBeGreaterThan(20 * count);
    expect(tally.noWidth).toBeGreaterThan(0);
    expect(tally.loops).toBeGreaterThan(0);
  });
});
