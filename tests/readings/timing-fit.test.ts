/** Presets and responses of a built control come back from the edges of its doors and signals. */
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { fitRig, type FitKind, type FitReport } from '../../server/core/readings/fit';
import { readLog } from '../../server/core/readings/log-csv';
import { stimuliOf, type Stimulus } from '../../server/core/readings/stimulus';
import { controlTimes } from '../../server/core/readings/timing-model';
import { analyseRig } from '../../server/core/run/analyse';
import { initialInputs } from '../../server/core/timing/engine';
import { builtLog, type BuiltLog } from '../support/built-log';
import { between, expectCoverage, LOGS, whole, type CoverageCase } from '../support/coverage';
import { seeded, type Random } from '../support/random';
import { rigOf } from '../support/rigs';

const TEXT = `rig silo {
  medium meal packed
  chamber bin  { volume 4 m3  mass 900 kg }
  chamber tray { volume 2 m3  mass 0 kg }
  door over  { travel 300 ms }
  door under { travel 300 ms }
  stack bin > over > under > tray { moves 10 % }
  controller { response 30 ms }
  switch go = off
  signal over_on  = TP(go, 1.6 s)
  signal rest_on  = TOF(over_on, 700 ms)
  signal under_on = TP(F_TRIG(rest_on), 1.3 s)
  drive over  = over_on
  drive under = under_on
}`;
/** Such logs are short: a tenth of a second for ten. */
const MANY = Math.max(LOGS, 40);
const RIG = rigOf(TEXT);
const TIMES = controlTimes(RIG).times;

/** The rig with other times, by `name kind` in µs. */
const builtWith = (times: Readonly<Record<string, number>>): Rig =>
  TIMES.reduce(
    (rig, t) => (times[`${t.name} ${t.kind}`] === undefined ? rig : t.put(rig, times[`${t.name} ${t.kind}`]!)),
    RIG,
  );

/** The switch thrown for a while several times, at moments that are no multiple of anything. */
function thrown(random: Random, times: number): Stimulus {
  const net = RIG.switches[0]!.net;
  let t = 0;
  const operations = Array.from({ length: times }, () => {
    const on = whole(t + between(random, 0.3e6, 1.7e6));
    const off = whole(on + between(random, 0.5e6, 2.5e6));
    t = on + 7e6;
    return [
      { t: on, net, on: true },
      { t: off, net, on: false },
    ];
  }).flat();
  return {
    label: 'thrown',
    scenario: null,
    inputs: initialInputs(RIG),
    operations,
    rest: 10e6,
    length: t,
    given: new Set(),
  };
}

function logOf(built: Rig, random: Random, how: Partial<BuiltLog> = {}): string {
  const stimulus = how.stimulus ?? thrown(random, 5);
  return builtLog(RIG, {
    built,
    stimulus,
    random,
    step: 40_000,
    length: stimulus.length,
    noise: 0.004,
    clock: 3e6,
    doors: [0, 1],
    ...how,
  });
}

function fitted(log: string, only: FitKind[], rig = RIG): FitReport {
  const reading = readLog(rig, log);
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  return fitRig(analyseRig(rig), reading.log, only);
}

const found = (report: FitReport): Record<string, number> =>
  Object.fromEntries(report.properties.map((p) => [`${p.name} ${p.property}`, p.fitted.value]));

function caseOf(only: FitKind, varied: 'preset' | 'response', signals: readonly string[]) {
  return (random: Random, level: number): CoverageCase => {
    const truths: Record<string, number> = {};
    for (const t of TIMES)
      if (t.kind === varied) truths[`${t.name} ${t.kind}`] = whole(t.stated.nominal * between(random, 0.75, 1.3));
    const log = logOf(builtWith(truths), random, {
      signals,
      step: [15_000, 35_000, 60_000][level]!,
      noise: [0.002, 0.01, 0.02][level]!,
    });
    return { text: TEXT, log, only, truths };
  };
}

describe('presets and responses of a built control', () => {
  it.each([
    ['presets', caseOf('presets', 'preset', ['go'])],
    ['response', caseOf('response', 'response', ['go', 'over_on', 'rest_on', 'under_on'])],
  ] as const)(
    `%s: 95 in 100 intervals hold the truth, of ${MANY} logs at each of three levels of noise`,
    (kind, make) => expectCoverage(kind, make, MANY),
    3_600_000,
  );

  it('are all found together, far from what is stated, where the signals are logged', () => {
    const truths = {
      'over_on preset': 2.9e6,
      'rest_on preset': 1.35e6,
      'under_on preset': 0.6e6,
      'controller response': 47_000,
    };
    const report = fitted(
      logOf(builtWith(truths), seeded(3), { signals: ['go', 'over_on', 'rest_on', 'under_on'], step: 20_000 }),
      ['presets', 'response'],
    );
    for (const [key, truth] of Object.entries(truths))
      expect(Math.abs(found(report)[key]! - truth), key).toBeLessThan(12_000);
    expect(report.verdict).toContain('edges of doors and signals');
  });

  it('presets are found from doors alone: the trigger goes on and holds', () => {
    const [stroke] = stimuliOf(RIG, analyseRig(RIG).timing);
    const truths = { 'over_on preset': 2.2e6, 'rest_on preset': 0.4e6, 'under_on preset': 1.9e6 };
    const report = fitted(logOf(builtWith(truths), seeded(4), { stimulus: stroke!, length: 12e6 }), ['presets']);
    for (const [key, truth] of Object.entries(truths))
      expect(Math.abs(found(report)[key]! - truth), key).toBeLessThan(5_000);
    expect(report.notes).toContain('Responses are taken as stated.');
  });

  it('fits at most what is asked for', () => {
    const log = logOf(RIG, seeded(5), { signals: ['go'] });
    expect(new Set(fitted(log, ['presets']).properties.map((p) => p.property))).toEqual(new Set(['preset']));
    expect(new Set(fitted(log, ['travel']).properties.map((p) => p.property))).toEqual(
      new Set(['opens_in', 'closes_in']),
    );
    expect(fitted(log, []).properties.some((p) => p.of === 'control')).toBe(false);
  });

  it('are not determined where edges show only their sums; the column that would is named, and does', () => {
    const [stroke] = stimuliOf(RIG, analyseRig(RIG).timing);
    const how = { stimulus: stroke!, length: 12e6, doors: [0] } as const;
    const report = fitted(logOf(RIG, seeded(6), how), ['presets']);
    expect(Object.keys(found(report))).toEqual(['over_on preset']);
    const { why } = report.untold.find((u) => u.name === 'rest_on')!;
    const [, column] = /a column of (\w+) would determine it/.exec(why)!;
    const more = fitted(logOf(RIG, seeded(6), { ...how, signals: [column!] }), ['presets']);
    expect(Object.keys(found(more))).toContain('rest_on preset');
  });

  it('a response is not fitted to presets that are not as stated', () => {
    const log = logOf(builtWith({ 'over_on preset': 1.75e6 }), seeded(7), { signals: ['go', 'rest_on'] });
    const { properties, untold } = fitted(log, ['response']);
    expect(properties).toEqual([]);
    expect(untold[0]!.why).toContain('fit both: --only presets,response');
  });

  it('the log of another control is refused', () => {
    const other = rigOf(
      TEXT.replace('TP(F_TRIG(rest_on), 1.3 s)', 'TP(go, 200 ms)').replace(
        'TP(go, 1.6 s)',
        'TOF(TP(go, 100 ms) or TP(F_TRIG(go), 100 ms), 100 ms)',
      ),
    );
    const { properties, untold } = fitted(logOf(other, seeded(8), { signals: ['go'] }), ['presets']);
    expect(properties).toEqual([]);
    expect(untold.length).toBeGreaterThan(0);
  });

  it('a scanned controller: presets to one scan, no response', () => {
    const text = TEXT.replace('response 30 ms', 'scan 50 ms');
    const rig = rigOf(text);
    const built = controlTimes(rig).times[0]!.put(rig, 1.93e6);
    const reading = readLog(
      rig,
      builtLog(rig, {
        built,
        stimulus: thrown(seeded(9), 5),
        random: seeded(9),
        step: 20_000,
        length: 35e6,
        noise: 0.004,
        clock: 0,
        doors: [0, 1],
        signals: ['go'],
      }),
    );
    if (!reading.ok) throw new Error(reading.problems[0]!.message);
    const report = fitRig(analyseRig(rig), reading.log, ['presets', 'response']);
    const { interval } = report.properties.find((p) => p.name === 'over_on')!.fitted;
    expect(interval[0]).toBeLessThan(1.93e6);
    expect(interval[1]).toBeGreaterThan(1.93e6);
    expect(report.untold.find((u) => u.property === 'response')!.why).toContain('scanned controller');
  });
});
