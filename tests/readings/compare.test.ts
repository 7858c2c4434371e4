import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { compareLog, type Comparison } from '../../server/core/readings/compare';
import { withPreset } from '../../server/core/readings/fault-list';
import { faultsOf } from '../../server/core/readings/single-faults';
import { readLog } from '../../server/core/readings/log-csv';
import { comparisonText } from '../../server/core/report/readings-report';
import { stimuliOf, stimulusOf } from '../../server/core/readings/stimulus';
import { analyseRig } from '../../server/core/run/analyse';
import { builtLog, type BuiltLog } from '../support/built-log';
import { seeded } from '../support/random';
import { rigOf } from '../support/rigs';

const RIG = rigOf(`rig loft {
  medium air
  chamber tank { volume 4 m3    pressure 2 bar }
  chamber jar  { volume 600 L   pressure 1 bar  limit 9 bar }
  door front { pocket 90 L  travel 300 ms  bore 120 mm }
  door back  { pocket 90 L  travel 300 ms  bore 120 mm }
  stack tank > front > back > jar
  controller { response 30 ms }
  sensor ready on tank { pressure above 1.8 bar  clears below 1.4 bar }
  signal start    = ready and not pause
  signal front_on = TOF(start, 1.4 s)
  signal back_on  = TP(pause and not front_on, 1.1 s)
  signal pause    = TOF(front_on, 9 s)
  drive front = front_on
  drive back  = back_on
}`);
const facts = analyseRig(RIG);
const [STROKE] = stimuliOf(RIG, facts.timing);
const PRESSURES = [0, 1].map((chamber) => ({ chamber, sensed: 'pressure' as const, unit: 'bar', factor: 1e5 }));

function comparison(built: Rig | null, how: Partial<BuiltLog> = {}): Comparison {
  const text = builtLog(RIG, {
    built,
    stimulus: STROKE!,
    random: seeded(7),
    step: 40_000,
    length: 30e6,
    noise: 0.002,
    clock: 2_000e6,
    doors: [0, 1],
    ...how,
  });
  const reading = readLog(RIG, text);
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  return compareLog(facts, reading.log, stimulusOf(RIG, facts.timing, reading.log, null)!);
}
const element = (name: string): number => RIG.network.elements.findIndex((e) => e.name === name);
const fault = (mode: string): Rig | null => faultsOf(RIG).find((f) => f.mode === mode)!.rig;

describe('compare', () => {
  it('takes a healthy log with its pressures as within, whatever its clock', () => {
    const result = comparison(RIG, { read: PRESSURES });
    expect(result.within).toBe(true);
    expect(result.readings.map((r) => [r.heading, r.within])).toEqual([
      ['tank pressure [bar]', true],
      ['jar pressure [bar]', true],
    ]);
    expect(Math.abs(result.offset - 2_000e6)).toBeLessThan(20_000);
    expect(comparisonText(result)[1]).toMatch(/^Time zero of the rig is 33 min 20/);
    // A clock of dates counts from 1970: 1,772,346,600 s are 1 March 2026, 06:30.
    const dated = { ...result, offset: 1_772_346_600_250_000 };
    expect(comparisonText(dated)[1]).toContain('Time zero of the rig is 2026-03-01T06:30:00.250 in the log');
    expect(result.summary).toMatch(/^All \d+ edges and all 2 columns of readings are within tolerance\.$/);
  });

  it('puts time zero at the stroke that is on time where a later one is not', () => {
    const { first, offset } = comparison(withPreset(RIG, element('pause'), 12e6));
    expect(Math.abs(offset - 2_000e6)).toBeLessThan(20_000);
    expect(first).toMatchObject({ name: 'front', open: true });
    expect(first!.measured! - first!.expected!).toBeCloseTo(3e6, -4);
    expect(first!.chain.map((c) => c.name)).toContain('pause');
  });

  it('compares signals, driven by the sensor as logged', () => {
    const signals = ['ready', 'start', 'front_on', 'back_on', 'pause'];
    const healthy = comparison(RIG, { signals, doors: [] });
    expect(healthy.driven && healthy.within).toBe(true);
    expect(healthy.edges.every((e) => e.of === 'signal')).toBe(true);
    const late = comparison(withPreset(RIG, element('front_on'), 1.9e6), { signals, doors: [] });
    expect(late.first).toMatchObject({ of: 'signal', name: 'front_on', open: false });
    expect(late.summary).toContain('first front_on goes off');
  });

  it('reports pressures that part from the expected ones, from when on', () => {
    const { readings, first } = comparison(fault('door back stuck shut'), { read: PRESSURES });
    expect(first).toMatchObject({ name: 'back', measured: null });
    const jar = readings.find((r) => r.heading === 'jar pressure [bar]')!;
    expect(jar.within).toBe(false);
    // The door before the jar would open after about 1.6 s.
    expect(jar.first!.t - 2_000e6).toBeGreaterThan(1.5e6);
    expect(jar.first!.t - 2_000e6).toBeLessThan(4e6);
  });

  it('finds every edge of a rig without supply missing, on a clock that counts from anywhere', () => {
    const { edges, first } = comparison(null, { clock: 40_000e6 });
    expect(edges.length).toBeGreaterThan(5);
    expect(edges.every((e) => e.measured === null)).toBe(true);
    expect(first!.name).toBe('front');
  });
});
