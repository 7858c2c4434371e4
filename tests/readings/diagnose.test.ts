import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { diagnose, diagnoseWork } from '../../server/core/readings/diagnose';
import { endOfFaults, faultReport, faultReportWork } from '../../server/core/readings/faults';
import { faultsOf } from '../../server/core/readings/single-faults';
import { classesIn } from '../../server/core/readings/fault-tree';
import { readLog } from '../../server/core/readings/log-csv';
import { follow, stimuliOf, stimulusOf } from '../../server/core/readings/stimulus';
import { analyseRig } from '../../server/core/run/analyse';
import { faultsText } from '../../server/core/report/readings-report';
import { loggedTrace } from '../support/diagnosis-cases';
import { seeded } from '../support/random';
import { rigFrom } from '../support/rig';
import { rigOf } from '../support/rigs';

const SAMPLES = ['digester_bank', 'blast_air_scanned'];
const rigs = SAMPLES.map((name) => rigFrom(readFileSync(join(__dirname, `../../samples/${name}.rig`), 'utf8')).rig);

it('finds the forgotten wire in the log of samples/', () => {
  const [rig] = rigs;
  const reading = readLog(rig!, readFileSync(join(__dirname, '../../samples/logs/digester_first_day.csv'), 'utf8'));
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  const { timing } = analyseRig(rig!);
  const { summary } = diagnose(rig!, reading.log, stimulusOf(rig!, timing, reading.log, null)!);
  expect(summary).toContain('wire from middle_on to door middle missing');
});

it.each(['digester_bank', 'blast_air_scanned'].map((name, k) => [name, k] as const))(
  'names an inverted sensor of %s, under which the rig has made strokes before time zero',
  (_name, k) => {
    const rig = rigs[k]!;
    const { timing } = analyseRig(rig);
    const [stimulus] = stimuliOf(rig, timing);
    const [sensor] = rig.sensors;
    const mode = `sensor ${sensor!.name} inverted`;
    const trace = follow(rig, faultsOf(rig).find((f) => f.mode === mode)!.rig, stimulus!);
    // Two edges a door before the log begins, at least: they are not the ones to lay its first edges beside.
    expect(trace.doors[0]!.moves.filter((m) => m.t < -1_000_000).length).toBeGreaterThan(2);
    const log = loggedTrace(rig, trace, seeded(3));
    expect(diagnose(rig, log, stimulus!).ranking[0]!.modes).toContain(mode);
  },
);

describe('faults', () => {
  const report = faultReport(analyseRig(rigs[0]!))!;
  const classWith = (mode: string) => report.classes[report.effects.find((e) => e.fault.mode === mode)!.class]!;

  // Common practice, no source: the timer after it is fed by the same signal, so the third door still moves, on time.
  it('shows a forgotten second wire as the second door never moving while the third does', () => {
    expect(classWith('wire from middle_on to door middle missing').neverMove).toEqual(['middle']);
  });

  it('marks faults that open a path straight through', () => {
    expect(classWith('lower_on stuck on').straight).toEqual(['upper + middle + lower']);
  });

  it('says who would notice, and which look at a signal tells members of a class apart', () => {
    expect(classWith('lower_on stuck on').noticedBy).toEqual(['ready', 'full']);
    const { apart, members } = classWith('wire from hold to start missing');
    if (apart?.kind !== 'look') throw new Error('no look');
    expect([apart.of, apart.name]).toEqual(['signal', 'hold']);
    expect(apart.outcomes.map((o) => o.seen)).toEqual(['off', 'on']);
    expect(members.length).toBe(3);
  });

  it('writes failure modes at the leaves, and no times before the trigger', () => {
    const text = faultsText(report).join('\n');
    expect(text).not.toMatch(/-\d+(\.\d+)? m?s after|: class \d/);
    expect(text).toContain('at rest, before ready goes on');
    expect(text).toMatch(/shut: {2}\d+\. {2}wire from/);
    expect(text).toContain('DANGEROUS: opens straight through upper + middle + lower');
  });

  // design: wire missing, stuck on or off, inverted sensor, sensor stuck, door stuck or slow, unit slip, TON for TOF, wires swapped, supply lost.
  it.each([
    'wire from start to upper_on missing',
    'wire from lower_on to door lower missing',
    'hold stuck on',
    'start stuck off',
    'switch run stuck off',
    'sensor ready inverted',
    'sensor full stuck on',
    'sensor ready stuck off',
    'door middle stuck shut',
    'door middle stuck open',
    'door upper slow (half its speed)',
    'preset of hold 1000 times too short',
    'preset of hold 60 times too long',
    'preset of upper_on 10 times too long',
    'upper_on: TON fitted for TOF',
    'lower_on/TON: TOF fitted for TON',
    'wires to doors upper and middle swapped',
    'wires of sensors ready and full swapped',
    'supply lost',
  ])('injects: %s', (mode) => expect(report.effects.map((e) => e.fault.mode)).toContain(mode));

  it('follows scenarios as well as strokes', () => {
    expect(report.stimuli).toEqual(['after ready goes on', 'in scenario morning']);
  });

  it('looks at gauges only where something flows wrong, and tells what moves at other times by when it does', () => {
    const looks = (node: typeof report.tree): (typeof report.tree & { kind: 'look' })[] =>
      node.kind === 'leaf' ? [] : [node, ...node.outcomes.flatMap((o) => looks(o.then))];
    const gauges = looks(report.tree).filter((n) => !['door', 'feed', 'draw'].includes(n.of));
    expect(gauges.length).toBeGreaterThan(0);
    for (const gauge of gauges) expect(classesIn(gauge).some((k) => report.classes[k]!.contents !== null)).toBe(true);
    // Presets of 52 ms and 3 ms for 3.1 s: 50 ms of all that is followed, which is not among the longest stretches of the whole list.
    const [a, b] = [60, 1000].map((n) => report.classes.indexOf(classWith(`preset of middle_on ${n} times too short`)));
    const parting = looks(report.tree).find(
      (n) =>
        classesIn(n).includes(a!) &&
        classesIn(n).includes(b!) &&
        !n.outcomes.some((o) => classesIn(o.then).includes(a!) && classesIn(o.then).includes(b!)),
    );
    expect(parting?.of).toBe('door');
  });

  it('puts every class at one leaf of the tree', () => {
    expect([...classesIn(report.tree)].sort((a, b) => a - b)).toEqual(report.classes.map((_, k) => k));
  });
});

describe('faults of feeds and draws that the control switches', () => {
  const rig = rigOf(`rig blower_cell {
  medium air
  chamber plenum { volume 2 m3  pressure 1.5 bar }
  chamber cell { volume 500 L  pressure 1 bar }
  door hatch { pocket 5 L  travel 300 ms }
  stack plenum > hatch > cell
  feed fan into plenum { rate 0.05 kg/s }
  feed always into plenum { rate 0.001 kg/s }
  draw bleed from cell { rate 0.01 kg/s }
  controller { response 20 ms }
  sensor low on plenum { pressure below 1.2 bar  clears above 1.3 bar }
  switch go = off
  signal fill = TP(go, 3 s)
  signal blow = TOF(fill, 2 s)
  drive hatch = fill
  drive fan = blow
  drive bleed = fill
}`);
  const report = faultReport(analyseRig(rig))!;
  const classWith = (mode: string) => report.classes[report.effects.find((e) => e.fault.mode === mode)!.class]!;

  // What each fault does to the fan (20 ms a block: on at 40 ms, off at 5.04 s) and to the bleed (20 ms to 3.02 s), by hand.
  it.each([
    ['wire from blow to feed fan missing', '"feed fan starts" is missing', 40_000, ['feed fan'], []],
    ['feed fan stuck off', '"feed fan starts" is missing', 40_000, ['feed fan'], []],
    ['draw bleed stuck off', '"draw bleed starts" is missing', 20_000, ['draw bleed'], []],
    ['preset of blow 60 times too long', '"feed fan stops" is missing', 5_040_000, [], ['feed fan']],
    ['wires to feed fan and draw bleed swapped', '"draw bleed starts" is missing', 20_000, [], []],
    ['wires to door hatch and feed fan swapped', '"hatch opens" is missing', 20_000, [], []],
  ])('%s', (mode, words, t, never, running) => {
    const { first, neverRun, leftRunning } = classWith(mode);
    expect({ words: first?.words, t: first?.t, neverRun, leftRunning }).toEqual({
      words,
      t,
      neverRun: never,
      leftRunning: running,
    });
  });

  it('what sticks on runs from power-on; the sensor of its chamber should notice', () => {
    const fan = classWith('feed fan stuck on');
    expect(fan.first!.t).toBeLessThan(0);
    expect(fan.leftRunning).toEqual(['feed fan']);
    expect(fan.noticedBy).toEqual(['low']);
  });

  it('a door that only comes round sooner is not left open', () => {
    // Sound: gate 0.04–2.19 s, flap from 2.48 s, the next stroke at 4.8 s. Without the flap the next stroke comes 0.92 s after the first.
    const sluice = rigFrom(`rig sluice {
  chamber hopper { volume 1 m3 }
  chamber silo { volume 1 m3 }
  door gate { travel 250 ms }
  door flap { travel 250 ms }
  stack hopper > gate > flap > silo
  controller { response 20 ms }
  switch go = off
  signal run = go and not rest
  signal gate_on = TP(run, 1.9 s)
  signal flap_on = TP(TON(rest and not gate_on, 500 ms), 1.4 s)
  signal rest = TOF(gate_on or flap_on, 900 ms)
  drive gate = gate_on
  drive flap = flap_on
}`).rig;
    const found = faultReport(analyseRig(sluice))!;
    const left = (mode: string) => found.classes[found.effects.find((e) => e.fault.mode === mode)!.class]!.leftOpen;
    expect(left('flap_on stuck off')).toEqual([]);
    expect(left('gate_on stuck on')).toEqual(['gate']);
    expect(left('preset of flap_on 60 times too long')).toEqual(['flap']);
  });

  it('names no wire that there is not, and no exchange of wires that carry one signal', () => {
    const modes = report.effects.map((e) => e.fault.mode);
    // Nothing switches it: it can only stand still, or bring another amount.
    expect(modes.filter((m) => m.includes('always'))).toEqual(['feed always dead', 'feed always at 50 % of its rate']);
    expect(modes).not.toContain('wires to door hatch and draw bleed swapped');
  });

  it('looks at a feed where only that tells faults apart', () => {
    const text = faultsText(report).join('\n');
    expect(text).toMatch(/look \d+: {2}feed fan, /);
    expect(text).toMatch(/stopped: {2}\d+\. {2}wire from fill to draw bleed missing/);
  });
});

describe('a rig of hundreds of timers', () => {
  const CHAIN = `rig chain {
  medium air
  controller { response 5 ms }
  chamber yard { volume 6 m3  pressure 3 bar }
  chamber loft { volume 2 m3  pressure 1 bar }
  door inlet { travel 30 ms }
  stack yard > inlet > loft
  sensor full on yard { pressure above 2 bar }
  signal w0 = TON(full, 10 ms)
${Array.from({ length: 60 }, (_, k) => `  signal w${k + 1} = TON(w${k}, ${10 + (k % 7)} ms)`).join('\n')}
  drive inlet = w60
}
`;
  const { rig } = rigFrom(CHAIN);
  const facts = analyseRig(rig);
  const all = faultsOf(rig).length;

  it('has its faults followed within a count of work, one a step, and says what is left', () => {
    const work = faultReportWork(facts, 20_000);
    let steps = 0;
    let step = work.next();
    for (; !step.done; step = work.next()) steps++;
    const report = step.value!;
    expect(report.effects.length).toBeGreaterThan(10);
    expect(report.left).toBe(all - report.effects.length);
    expect(report.left).toBeGreaterThan(0);
    expect(steps).toBeGreaterThanOrEqual(report.effects.length);
    expect(endOfFaults(rig, report)).toBe(
      `${report.effects.length} of ${all} faults of chain were followed, and not all of them are distinguished: more would cost too much work.`,
    );
    // What was followed is what the whole report says of it.
    const whole = faultReport(facts)!;
    expect([whole.left, endOfFaults(rig, whole)]).toEqual([0, null]);
    const names = (r: typeof report) => r.effects.map((e) => [e.fault.mode, r.classes[e.class]!.first]);
    expect(names(report)).toEqual(names(whole).slice(0, report.effects.length));
  });

  it('is diagnosed within a count of work, one candidate a step, and says what is left', () => {
    const [stimulus] = stimuliOf(rig, facts.timing);
    const log = loggedTrace(rig, follow(rig, rig, stimulus!), seeded(5));
    const work = diagnoseWork(rig, log, stimulus!, 5_000);
    let steps = 0;
    let step = work.next();
    for (; !step.done; step = work.next()) steps++;
    const { left, summary } = step.value;
    expect(left).toBeGreaterThan(all / 2);
    expect(steps).toBeGreaterThan(10);
    expect(summary).toMatch(/ \d+ of \d+ faults and changed times were not followed: more would cost too much work\.$/);
    const whole = diagnose(rig, log, stimulus!);
    expect([whole.left, whole.summary.includes('not followed')]).toEqual([0, false]);
  });
});
