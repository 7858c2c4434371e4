/** Leaks and changed rates, which no door and no signal shows: what a gauge shows of them, and where it is looked at. */
import { describe, expect, it } from 'vitest';
import { classesIn, type TestNode } from '../../server/core/readings/fault-tree';
import { faultReport } from '../../server/core/readings/faults';
import { diagnose, diagnoseWork, type Diagnosis } from '../../server/core/readings/diagnose';
import { readLog } from '../../server/core/readings/log-csv';
import { stimulusOf } from '../../server/core/readings/stimulus';
import { finish } from '../../server/core/work/work';
import { analyseRig } from '../../server/core/run/analyse';
import { diagnosisText, faultsText } from '../../server/core/report/readings-report';
import { positionAt } from '../../server/core/model/motion';
import { seeded } from '../support/random';
import { rigOf } from '../support/rigs';
import { contentsAlong, normal, pathOf } from '../support/synthetic-log';

/** The keg is fed and never opened; vat and jar have a shut door between them until the flap opens. */
const text = (tap = 5): string => `rig cellar {
  medium air
  chamber keg { volume 200 L  pressure 1 bar }
  chamber vat { volume 300 L  pressure 4 bar }
  chamber jar { volume 60 L   pressure 1 bar }
  door bung { travel 200 ms  bore 4 mm }
  door flap { travel 200 ms  bore 12 mm }
  stack keg > bung > jar
  stack vat > flap > jar
  feed tap into keg { rate ${tap.toFixed(5)} g/s }
  switch go = off
  signal flap_on = TON(go, 12 s)
  drive flap = flap_on
}`;

const report = faultReport(analyseRig(rigOf(text())))!;
const classOf = (mode: string): number => report.effects.find((e) => e.fault.mode === mode)!.class;
const numbers = (words: string): number[] => [...words.matchAll(/([\d.]+) bar/g)].map((m) => Number(m[1]));

/** Looks on the way to a class. */
function waysTo(node: TestNode, of: number): (TestNode & { kind: 'look' })[] {
  if (node.kind === 'leaf') return [];
  return [
    node,
    ...node.outcomes.filter(({ then }) => classesIn(then).includes(of)).flatMap(({ then }) => waysTo(then, of)),
  ];
}

describe('faults', () => {
  it('a feed at half its rate: the pressure by the ideal gas law, p = p₀ + ṁ R T t / V', () => {
    const { contents } = report.classes[classOf('feed tap at 50 % of its rate')]!;
    const rise = (rate: number): number => 1 + (rate * 287.05 * 293.15 * (contents!.t / 1e6)) / 0.2 / 1e5;
    const [found, expected] = numbers(contents!.words);
    expect(contents!.words).toMatch(/^pressure in keg is/);
    expect(found! / rise(0.0025)).toBeCloseTo(1, 2);
    expect(expected! / rise(0.005)).toBeCloseTo(1, 2);
  });

  it('a door that leaks: the pressure behind it, choked flow through 5 % of a sharp-edged bore (Saint-Venant and Wantzel)', () => {
    const { contents } = report.classes[classOf('door flap leaks (5 % of its opening)')]!;
    const area = 0.05 * 0.62 * Math.PI * 0.006 ** 2;
    let [vat, jar] = [4e5, 1e5];
    for (let t = 0; t < contents!.t / 1e6; t += 1e-3) {
      const r = Math.max(jar / vat, 0.5282818);
      const flow = area * vat * Math.sqrt((7 / (287.05 * 293.15)) * (r ** (2 / 1.4) - r ** (2.4 / 1.4)));
      vat -= (flow * 287.05 * 293.15 * 1e-3) / 0.3;
      jar += (flow * 287.05 * 293.15 * 1e-3) / 0.06;
    }
    expect(contents!.words).toMatch(/^pressure in jar is/);
    expect((numbers(contents!.words)[0]! * 1e5) / jar).toBeCloseTo(1, 1);
  });

  it('each is told from the sound rig and from the others by a gauge', () => {
    for (const mode of ['feed tap at 50 % of its rate', 'door flap leaks (5 % of its opening)']) {
      const own = classOf(mode);
      expect(own).not.toBe(0);
      expect(waysTo(report.tree, own).map((n) => n.of)).toContain('pressure');
    }
    const printed = faultsText(report).join('\n');
    expect(printed).toMatch(/seen on a gauge: pressure in keg is/);
    expect(printed).toMatch(/look \d+: {2}the pressure in (keg|jar), /);
  });

  it('detection of what only flows wrong: sensors whose threshold it moves something across, and no others', () => {
    const sensors = `  sensor fed on keg { pressure above 1.25 bar  clears below 1.1 bar }
  sensor dwindled on keg { pressure below 0.8 bar }
  sensor bursting on keg { pressure above 3 bar }
  sensor tight on jar { pressure below 1.01 bar }
  sensor filled on jar { pressure above 3.9 bar }
}`;
    const own = faultReport(analyseRig(rigOf(text().replace(/\}$/, sensors))))!;
    const noticedBy = (mode: string) => own.classes[own.effects.find((e) => e.fault.mode === mode)!.class]!.noticedBy;
    // By the gas law the keg rises by 0.021 bar/s, with the fault by half of it: above 1.25 bar within the course, or not. The jar is shut for 12 s.
    expect(noticedBy('feed tap at 50 % of its rate')).toEqual(['fed']);
    expect(noticedBy('door flap leaks (5 % of its opening)')).toEqual(['tight']);
    const printed = faultsText(own).join('\n');
    expect(printed).toMatch(
      /feed tap at 50 % of its rate\n +effect +doors, feeds and draws move and run at the times designed\n/,
    );
  });

  it('a packed medium leaks nothing', () => {
    const packed = text()
      .replace('medium air', 'medium grit packed')
      .replace(/pressure \d bar/g, 'mass 20 kg');
    const modes = faultReport(analyseRig(rigOf(packed)))!.effects.map((e) => e.fault.mode);
    expect(modes.filter((m) => m.includes('leaks'))).toEqual([]);
  });
});

/** Chambers in a row, each behind a door of the one before it; the first is fed. What is stated and what is true differ in the feed or the first door. */
const row = (doors: number, tap = 5, leak = ''): string => `rig row {
  medium air
${Array.from({ length: doors + 1 }, (_, k) => `  chamber c${k} { volume ${100 + 10 * k} L  pressure ${k % 2 === 0 ? 3 : 1} bar }`).join('\n')}
${Array.from({ length: doors }, (_, k) => `  door d${k} { travel 200 ms  bore 8 mm  ${k === 0 ? leak : ''} }`).join('\n')}
${Array.from({ length: doors }, (_, k) => `  stack c${k} > d${k} > c${k + 1}`).join('\n')}
  feed tap into c0 { rate ${tap.toFixed(5)} g/s }
  switch go = off
  signal s0 = TP(go, 2 s)
${Array.from({ length: doors - 1 }, (_, k) => `  signal s${k + 1} = TP(TON(s${k}, 1.2 s), 2 s)`).join('\n')}
${Array.from({ length: doors }, (_, k) => `  drive d${k} = s${k}`).join('\n')}
}`;

/** What the first two chambers and the last held, twice a second, with a stroke after 8 s. */
function rowLog(doors: number, truth: string) {
  const rig = rigOf(row(doors));
  const paths = rig.doors.map((_, k) => pathOf([[8e6 + 1.2e6 * k, 10e6 + 1.2e6 * k]], 2e5, 2e5));
  const times = Array.from({ length: 2 * Math.ceil(16 + 1.2 * doors) }, (_, k) => k * 500_000);
  const read = [0, 1, doors].map((chamber) => ({ chamber, sensed: 'pressure' as const }));
  const random = seeded(7);
  const rows = contentsAlong(rigOf(truth), paths, times, read).map((values, k) =>
    [
      times[k]! / 1e6,
      ...paths.map((path) => positionAt(path, times[k]!).toFixed(3)),
      ...values.map((p) => (p / 1e5 + 0.002 * normal(random)).toFixed(4)),
    ].join(),
  );
  const heads = [...rig.doors.map((d) => d.name), ...read.map(({ chamber }) => `c${chamber} pressure [bar]`)];
  const log = readLog(rig, [`time [s],${heads.join()}`, ...rows].join('\n'));
  if (!log.ok) throw new Error(log.problems[0]!.message);
  return { rig, log: log.log, stimulus: stimulusOf(rig, analyseRig(rig).timing, log.log, null)! };
}

describe('diagnose of more doors', () => {
  it.each([2, 7, 13])(
    'names a leak and a halved feed among %d doors',
    (doors) => {
      const named = (truth: string): Diagnosis => {
        const { rig, log, stimulus } = rowLog(doors, truth);
        return diagnose(rig, log, stimulus);
      };
      const [leak, feed] = [named(row(doors, 5, 'leak 2 %')), named(row(doors, 2.5))];
      expect(leak.ranking[0]!.modes, leak.summary).toEqual(['door d0 leaks (2 % of its opening)']);
      expect(feed.ranking[0]!.modes, feed.summary).toEqual(['feed tap at 50 % of its rate']);
      for (const { ranking, left } of [leak, feed]) expect([ranking[0]!.probability > 0.99, left]).toEqual([true, 0]);
    },
    300_000,
  );

  it('says what it left out, and says nothing of what it did not hold against the readings', () => {
    const { rig, log, stimulus } = rowLog(7, row(7, 5, 'leak 2 %'));
    const { left, summary, ranking } = finish(diagnoseWork(rig, log, stimulus, 25_000));
    expect(left).toBeGreaterThan(10);
    expect(summary).toMatch(
      new RegExp(
        `\\. ${left} of \\d+ faults and changed times were not held against the readings of chambers: more would cost too much work\\.$`,
      ),
    );
    expect(ranking.flatMap((e) => e.modes).filter((m) => m.includes('leaks'))).toEqual([]);
  });

  it('waits nowhere: each moment of the readings of each candidate is a step', () => {
    const { rig, log, stimulus } = rowLog(2, row(2, 2.5));
    const work = diagnoseWork(rig, log, stimulus);
    let steps = 0;
    let step = work.next();
    for (; !step.done; step = work.next()) steps++;
    const followed = step.value.ranking.filter((e) => e.probability > 0).length;
    expect(followed).toBeGreaterThan(10);
    expect(steps).toBeGreaterThan(followed * log.times.length);
  });

  it('a fault where nothing that was read can feel it is no suspect beside the rig as designed', () => {
    const two = text().replace(
      /\}$/,
      '  chamber tub { volume 80 L  pressure 1 bar }\n  feed hose into tub { rate 2 g/s }\n  stack tub > gate > jar\n  door gate { travel 200 ms  bore 6 mm }\n}',
    );
    const rig = rigOf(two);
    const rows = Array.from({ length: 40 }, (_, k) => `${k / 2},0,0,0,${(1 + 0.021 * (k / 2)).toFixed(4)}`);
    const log = readLog(rig, ['time [s],bung,flap,gate,keg pressure [bar]', ...rows].join('\n'));
    if (!log.ok) throw new Error(log.problems[0]!.message);
    const { ranking } = diagnose(rig, log.log, stimulusOf(rig, analyseRig(rig).timing, log.log, null)!);
    const modes = ranking.flatMap((e) => e.modes);
    expect(modes.filter((m) => m.includes('tap at')).length).toBe(6);
    // The keg is shut off from jar and tub, but for a leak of its own door.
    expect(modes.filter((m) => m.includes('leaks'))).toEqual(
      expect.arrayContaining(['door bung leaks (2 % of its opening)']),
    );
    expect(modes.filter((m) => /hose at|gate leaks|flap leaks/.test(m))).toEqual([]);
  });
});

describe('diagnose', () => {
  const found = (noise: number, seconds: number) => {
    const rig = rigOf(text());
    const paths = [pathOf([], 2e5, 2e5), pathOf([[15e6, 60e6]], 2e5, 2e5)];
    const times = Array.from({ length: seconds * 4 }, (_, k) => k * 250_000);
    const random = seeded(4);
    const rows = contentsAlong(rigOf(text(2.5)), paths, times, [{ chamber: 0, sensed: 'pressure' }]).map(([p], k) =>
      [
        times[k]! / 1e6,
        0,
        positionAt(paths[1]!, times[k]!).toFixed(3),
        (p! / 1e5 + noise * normal(random)).toFixed(4),
      ].join(),
    );
    const log = readLog(rig, ['time [s],bung,flap,keg pressure [bar]', ...rows].join('\n'));
    if (!log.ok) throw new Error(log.problems[0]!.message);
    return diagnose(rig, log.log, stimulusOf(rig, analyseRig(rig).timing, log.log, null)!);
  };

  it('names a rate that the readings show', () =>
    expect(found(0.002, 24).ranking[0]!.modes).toEqual(['feed tap at 50 % of its rate']));

  it('proposes a pressure where a pressure tells the remaining suspects apart', () => {
    const diagnosis = found(0.05, 24);
    const { next, ranking, summary } = diagnosis;
    expect({ of: next?.of, name: next?.name }, `${summary} ${JSON.stringify(ranking.slice(0, 4))}`).toEqual({
      of: 'pressure',
      name: 'keg',
    });
    expect(next!.outcomes.length).toBeGreaterThan(1);
    expect(diagnosisText(diagnosis).join('\n')).toMatch(/Look next at the pressure in keg, .*\n {2}about \d/);
  });
});
