/** Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { modelFlow } from '../../server/core/flow/flow-model';
import { runCoupled } from '../../server/core/run/coupled';
import { flowRun } from '../../server/core/run/flow-run';
import { rigOf } from '../support/rigs';

const bank = (sensors: string, start: string, scenario = ''): string => `
rig bank {
  medium air
  chamber receiver { volume 6 m3  pressure 1 bar }
  chamber store    { volume 1.5 m3  pressure 1 bar  limit 10 bar }
  door upper  { pocket 250 L  clearance 10 L  travel 300 ms  power moving 100 W  power held 10 W }
  door middle { pocket 250 L  clearance 10 L  travel 300 ms  power moving 100 W  power held 10 W }
  door lower  { pocket 250 L  clearance 10 L  travel 300 ms  power moving 100 W  power held 10 W }
  stack receiver > upper > middle > lower > store
  feed fan into receiver { rate 0.02 kg/s  power 200 W }
  controller { response 50 ms }
  switch run = on
  ${sensors}
  signal start     = ${start}
  signal upper_on  = TOF(start, 1.5 s)
  signal middle_on = TOF(start, 2.5 s)
  signal lower_on  = TOF(TON(middle_on, 2.0 s), 1.0 s)
  signal hold      = TOF(upper_on, 10 s)
  drive upper = upper_on
  drive middle = middle_on
  drive lower = lower_on
  ${scenario}
}`;
const READY = 'sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }';

function coupled(text: string, until?: number) {
  const rig = rigOf(text);
  const model = modelFlow(rig).model!;
  const scenario = rig.scenarios[0] ?? null;
  return { rig, model, run: runCoupled(rig, model, { scenario, until }) };
}

describe('coupled run', () => {
  it('starts when the feed has brought the receiver to its threshold, to the microsecond', () => {
    const { run, model, rig } = coupled(bank(READY, 'run and ready and not hold'), 600e6);
    // 0.5 bar more in 6 m3: Δm = 0.5e5 · 6/(R T); at 0.02 kg/s. R = 8.314462618/0.0289655, T = 293.15 K.
    const seconds = (0.5e5 * 6) / ((8.314462618 / 0.0289655) * 293.15) / 0.02;
    const edge = run.trace.edges.find((e) => e.net === rig.sensors[0].net)!;
    expect(edge.value).toBe(true);
    expect(Math.abs(edge.t - seconds * 1e6)).toBeLessThanOrEqual(1);
    expect(model.start[0]).toBeGreaterThan(0);
  });

  it('keeps the mass: what is held differs by what the feed brought', () => {
    const { run } = coupled(bank(READY, 'run and ready and not hold'), 3600e6);
    expect(run.strokes.length).toBeGreaterThan(50);
    expect(run.lines[0]).toBeCloseTo(0.02 * 3600, 9);
    expect(run.held.end - run.held.start - run.lines[0]).toBeCloseTo(0, 9);
  });

  it('a feed with a drive runs by it, and a step of the scenario shuts it off and gives it back', () => {
    const scenario = `switch air = off
  drive fan = air
  scenario s { at 100 s switch air on  at 300 s feed fan off  at 400 s feed fan on  at 500 s switch air off  for 900 s }`;
    const { run } = coupled(bank(READY, 'run and ready and not hold', scenario), 900e6);
    // From 100 s to 300 s and from 400 s to 500 s, at 0.02 kg/s.
    expect(run.lines[0]).toBeCloseTo(0.02 * 300, 9);
  });

  it('a feed without a drive is off before a first step that says on', () => {
    const scenario = 'scenario s { at 100 s feed fan on  at 150 s feed fan off  for 400 s }';
    const { run } = coupled(bank(READY, 'run and ready and not hold', scenario), 400e6);
    expect(run.lines[0]).toBeCloseTo(0.02 * 50, 9);
  });

  it('is followed by the quick filling to within a stroke', () => {
    const { run, rig } = coupled(bank(READY, 'run and ready and not hold'), 1500e6);
    const filling = flowRun(rig)!.fill({ seconds: 1500 });
    expect(Math.abs(filling.strokes - run.strokes.length)).toBeLessThanOrEqual(2);
    const last = filling.points[filling.points.length - 1];
    const one = run.final[1].mass / run.strokes.length;
    expect(Math.abs(last.mass[1] - run.final[1].mass)).toBeLessThan(2 * one);
  });

  it('stops by itself at a second sensor on the store', () => {
    const full = 'sensor full on store { pressure above 3 bar  clears below 2.5 bar }';
    const { run } = coupled(bank(`${READY}\n${full}`, 'run and ready and not full and not hold'), 3 * 3600e6);
    expect(run.highest[1].pressure!).toBeGreaterThan(3e5);
    // One stroke brings about 0.25 m3 · 1.5 bar/1.5 m3 = 0.25 bar; the one under way is finished.
    expect(run.highest[1].pressure!).toBeLessThan(3.4e5);
    const last = run.strokes[run.strokes.length - 1];
    expect(last).toBeLessThan(2 * 3600e6);
  });

  it('follows a scenario: feed, switch, sensor, power', () => {
    const text = bank(
      READY,
      'run and ready and not hold',
      'scenario day {\n at 10 s feed fan on\n at 60 s feed fan off\n at 100 s sensor ready on\n at 105 s switch run off\n at 130 s power off\n for 200 s\n }',
    );
    const { run } = coupled(text);
    expect(run.until).toBe(200e6);
    expect(run.lines[0]).toBeCloseTo(0.02 * 50, 9);
    expect(run.strokes.length).toBe(1);
    expect(run.strokes[0]).toBe(100e6 + 100_000);
    // Three doors, each 0.3 s out and 0.3 s back at 100 W, held fully open (1.5 − 0.3) + (2.5 − 0.3) + … at 10 W; fan 50 s · 200 W.
    expect(run.energy.pumps).toBeCloseTo(50 * 200, 6);
    expect(run.energy.doorsMoving + run.energy.doorsHolding).toBeGreaterThan(3 * 0.6 * 100);
  });
});
