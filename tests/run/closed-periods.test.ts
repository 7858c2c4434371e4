/** A run that does one period over and over counts the periods: beside the same run followed to its end. Presets: own, no source. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { scenarioFlowJson, scenarioFlowTable } from '../../server/core/report/scenario-flow';
import { analyseRig } from '../../server/core/run/analyse';
import type { Rig } from '../../server/core/model/rig';
import { runCoupled } from '../../server/core/run/coupled';
import { quickRun } from '../../server/core/run/scenario-run';
import { flowAt, pocketAt, runFlows, type SectionFlow } from '../../server/core/diagram/section/stroke-flows';
import { createEngine } from '../../server/core/timing/engine';
import { rigOf, sampleRig } from '../support/rigs';

const sampleText = (name: string): string => readFileSync(`samples/${name}.rig`, 'utf8');

/** A sample with a scenario of its own. */
const withScenario = (name: string, steps: string): Rig =>
  rigOf(
    sampleText(name)
      .replace(/ {2}scenario morning \{[\s\S]*?\n {2}\}\n/, '')
      .replace(/\}\s*$/, `  scenario long {\n${steps}\n  }\n}\n`),
  );

function both(rig: Rig) {
  const { model } = quickRun(rig)!;
  const scenario = rig.scenarios[0]!;
  return {
    closed: runCoupled(rig, model, { scenario }),
    stepped: runCoupled(rig, model, { scenario, everyPeriod: true }),
  };
}

/** One that its times alone repeat, at the balance level. */
let kept: ReturnType<typeof both> | null = null;
const blastRig = withScenario('blast_air_scanned', 'at 0 s switch run on\n at 38 min switch run off\n for 40 min');
const blast = () => (kept ??= both(blastRig));

const sumOf = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);

describe('the event engine repeats what it has recorded', () => {
  it.each(['blast_air_scanned', 'digester_bank', 'twin_presses', 'grain_blower', 'quay_lock'])(
    '%s: as if it had run on, and goes on as if it had',
    (name) => {
      const rig = sampleRig(name);
      // Sensors that stop the rig stay off, so that it repeats by its times alone.
      const stops = new Set(rig.sensors.filter((s) => s.name.includes('full')).map((s) => s.net));
      const inputs = (net: number): boolean => !stops.has(net);
      const [repeated, run] = [createEngine(rig, { inputs }), createEngine(rig, { inputs })];
      const seen = new Map<string, { t: number; rows: typeof repeated.rows }>();
      // A while into it, so that what started it is over.
      while (repeated.now < 60e6) repeated.step();
      let was: { t: number; rows: typeof repeated.rows } | undefined;
      for (; !was; was = seen.get(repeated.key())) {
        seen.set(repeated.key(), { t: repeated.now, rows: repeated.rows });
        repeated.step();
      }
      const period = repeated.now - was.t;
      expect(period).toBeGreaterThan(1e6);
      expect(repeated.repeat(was.rows, period, 7)).toBe(true);
      const end = repeated.now + 3 * period;
      repeated.advanceTo(end);
      run.advanceTo(end);
      expect(repeated.trace()).toEqual(run.trace());
      expect(repeated.key()).toBe(run.key());
      expect(repeated.timerEvents.copy()).toEqual(run.timerEvents.copy());
    },
  );
});

describe('periods that come back are counted, not followed', () => {
  it('exactly where time alone makes the period: every edge, every move, what caused it', () => {
    const { closed, stepped } = blast();
    expect(closed.closed.length).toBeGreaterThan(0);
    expect(stepped.closed).toEqual([]);
    expect(closed.units).toBeLessThan(stepped.units / 5);
    expect(closed.trace).toEqual(stepped.trace);
    expect(closed.strokes).toEqual(stepped.strokes);
    expect(closed.points.map((p) => [p.t, p.strokes])).toEqual(stepped.points.map((p) => [p.t, p.strokes]));
    closed.points.forEach((point, k) => {
      const other = stepped.points[k]!;
      point.mass.forEach((m, c) => expect(m / other.mass[c]!).toBeCloseTo(1, 5));
      expect(point.energy).toBeCloseTo(other.energy, -Math.log10(1e-5 * Math.max(1, other.energy)));
    });
    closed.lines.forEach((mass, k) => expect(mass / stepped.lines[k]!).toBeCloseTo(1, 5));
  });

  it('what flows, and what presses in pockets, is in every period what it was in the one followed', () => {
    const rig = blastRig;
    const { closed, stepped } = blast();
    const { model } = quickRun(rig)!;
    const [counted, all] = [runFlows(rig, model, closed)!, runFlows(rig, model, stepped)!];
    const [stretch] = closed.closed;
    expect(stretch!.times).toBeGreaterThan(2);
    expect(counted.times.length).toBeLessThan(all.times.length);
    // Moments of a period that no other follows so closely that rounding of the period decides which of them it is.
    const read = (flow: SectionFlow, t: number) => [
      ...flow.links.map(({ from, to }) => flowAt(flow, from, to, t)),
      ...flow.pockets.map(({ door }) => pocketAt(flow, door, t)),
    ];
    const step = 173_001;
    const moments = Array.from(
      { length: Math.floor(Math.min(stretch!.until, all.ends ?? Infinity) / step) },
      (_, k) => k * step,
    );
    const differ = moments.filter((t) =>
      read(counted, t).some((v, k) => Math.abs((v ?? 0) - (read(all, t)[k] ?? 0)) > 0.02 * Math.max(0.1, all.most)),
    );
    expect(read(all, stretch!.from + stretch!.period + 3 * step).some((v) => (v ?? 0) > 0)).toBe(true);
    expect(differ.length).toBeLessThan(moments.length / 100);
  });

  it.each([
    ['brine_lift', 'at 0 s feed tide_pump on\n for 8 h'],
    ['quay_lock', 'at 0 s feed carts on\n for 12 h'],
  ])('%s: contents, lines, energy and moments as far as it says', (name, steps) => {
    const { closed, stepped } = both(withScenario(name, steps));
    const [stretch] = closed.closed;
    expect(stretch!.times).toBeGreaterThan(10);
    expect(closed.trace.edges.length).toBe(stepped.trace.edges.length);
    const late = closed.trace.edges.map((edge, k) => Math.abs(edge.t - stepped.trace.edges[k]!.t));
    expect(late.reduce((a, b) => Math.max(a, b), 0)).toBeLessThanOrEqual(stretch!.drift + 2 * stretch!.times);
    closed.final.forEach(({ mass }, k) => expect(mass / stepped.final[k]!.mass).toBeCloseTo(1, 4));
    closed.lines.forEach((mass, k) => expect(mass / stepped.lines[k]!).toBeCloseTo(1, 5));
    expect(closed.energy.total / stepped.energy.total).toBeCloseTo(1, 4);
  });

  it('what has taken long is counted while it still settles, within the error that it says', () => {
    const rig = withScenario('quay_lock', 'at 0 s feed carts on\n for 12 h');
    const { model } = quickRun(rig)!;
    const run = runCoupled(rig, model, { scenario: rig.scenarios[0]!, long: 0 });
    const { stepped, closed } = both(rig);
    expect(run.closed[0]!.from).toBeLessThan(closed.closed[0]!.from);
    expect(run.closed[0]!.error).toBeGreaterThan(1e-5);
    run.final.forEach(({ mass }, k) =>
      expect(Math.abs(mass / stepped.final[k]!.mass - 1)).toBeLessThanOrEqual(run.closed[0]!.error),
    );
  });

  it('mass is conserved over what is counted', () => {
    const rig = withScenario('quay_lock', 'at 0 s feed carts on\n for 72 h');
    const run = runCoupled(rig, quickRun(rig)!.model, { scenario: rig.scenarios[0]! });
    const brought = sumOf(run.lines.map((mass, k) => (rig.lines[k]!.kind === 'feed' ? mass : -mass)));
    expect((run.held.end - run.held.start) / brought).toBeCloseTo(1, 9);
  });

  it('a store that goes on filling, however slowly, is followed to the end', () => {
    const text = sampleText('blast_air_scanned').replace(
      /chamber bottle\s*\{ volume [^p]*/,
      'chamber bottle { volume 5000 m3 ',
    );
    const rig = rigOf(text.replace(/\}\s*$/, '  scenario long {\n at 0 s switch run on\n for 20 min\n  }\n}\n'));
    const { closed, stepped } = both(rig);
    expect(closed.closed).toEqual([]);
    expect(closed.final).toEqual(stepped.final);
  });

  it('says so, in the table and in JSON', () => {
    const facts = analyseRig(withScenario('blast_air_scanned', 'at 0 s switch run on\n for 72 h'));
    const json = scenarioFlowJson(facts, 0)!;
    expect(json.obtained).toBe('periods');
    expect(json.closed).toMatchObject([{ period: 8.22 }]);
    expect(json.closed[0]!.until).toBeGreaterThan(71 * 3600);
    expect(scenarioFlowTable(facts, 0)!.join('\n')).toMatch(
      /From .* to .* it does the same every 8\.22 s: \d+ periods are counted, not followed one by one/,
    );
  });
});
