/** Exported Verilog, run by Icarus Verilog, against the event engine; read by Verilator as a second reader of IEEE 1364. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { exportVerilog } from '../../../server/core/report/exports/verilog';
import { initialInputs } from '../../../server/core/timing/engine';
import { run } from '../../cli/run';
import { engineChanges, everyNetDriven, lasting } from '../../support/driven';
import { and, sketch, TON } from '../../support/network';
import { randomCase } from '../../support/random';
import { sampleRigs } from '../../support/samples';
import { courseFrom, runBench } from '../../support/simulated';
import { hasIcarus } from '../../support/verilog';

const CASES = Number(process.env.EXPORT_CASES ?? 20);
const SECOND = 1_000_000;
const hasVerilator = spawnSync('verilator', ['--version']).status === 0;

/** What Verilator finds wrong with a text; its opinions on style left out. */
function verilatorErrors(text: string): string[] {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-lint-'));
  try {
    writeFileSync(join(folder, 'bench.v'), text);
    const flags = ['--lint-only', '--timing', '--language', '1364-2005', '-Wno-fatal', '-Wno-MULTITOP', 'bench.v'];
    const { stderr } = spawnSync('verilator', flags, { cwd: folder, encoding: 'utf8' });
    return stderr.split('\n').filter((line) => line.startsWith('%Error'));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

describe.skipIf(!hasIcarus())('exported Verilog', () => {
  it(`does what the event engine does on ${CASES} random networks`, () => {
    let changes = 0;
    let faults = 0;
    for (let seed = 1; seed <= CASES; seed++) {
      const { rig, until, ...made } = randomCase(seed);
      const stimuli = lasting(made.stimuli);
      const driven = everyNetDriven(rig);
      const expected = engineChanges(driven, stimuli, until).map((line) => line.replace(/ (e\d+) /, ' $1_run '));
      const got = runBench(exportVerilog(driven, courseFrom(driven, stimuli, until)));
      expect(got.at(-1) === 'fault', `seed ${seed}`).toBe(expected.at(-1) === 'fault');
      expect(got, `seed ${seed}`).toEqual(expected);
      if (got.at(-1) === 'fault') faults++;
      changes += expected.length;
    }
    expect(changes).toBeGreaterThan(CASES);
    if (CASES >= 100) expect(faults).toBeGreaterThan(0);
  }, 600_000);

  it.each(sampleRigs().map((rig) => [rig.name, rig] as const))('of sample %s strokes alike', (_, rig) => {
    const driven = everyNetDriven(rig);
    const initially = initialInputs(rig);
    const stimuli = [...rig.sensors, ...rig.switches].flatMap(({ net }, i) => [
      { t: (5 + 60 * i) * SECOND, net, value: !initially(net) },
      { t: (45 + 60 * i) * SECOND, net, value: initially(net) },
    ]);
    const until = 60 * SECOND * (rig.sensors.length + rig.switches.length);
    const text = exportVerilog(driven, courseFrom(driven, stimuli, until));
    const expected = engineChanges(driven, stimuli, until);
    expect(runBench(text)).toEqual(expected.map((line) => line.replace(/ (e\d+) /, ' $1_run ')));
    expect(text).toContain('injure and kill');
    expect(hasVerilator ? verilatorErrors(text) : []).toEqual([]);
  });

  it('maps names that are reserved words, not ASCII or alike, and lists them', () => {
    const rig = sketch({
      name: 'module',
      response: 0,
      switches: { reg: true, Öffner: false, logic: false, fault: false },
      signals: { always: and('reg', 'Öffner', 'logic', 'fault') },
      doors: { wire: {} },
      drives: { wire: 'always' },
      stacks: [['wire']],
    });
    const [reg, opener, logic, fault] = rig.switches.map((s) => s.net);
    const steps = [opener, logic, fault].map((net, i) => ({ t: i + 1, net: net!, value: true }));
    const text = exportVerilog(rig, courseFrom(rig, steps, 10));
    expect(reg).toBeDefined();
    expect(text).toMatch(/^\/\/ {3}Öffner {2}Offner$/m);
    expect(text).toMatch(/^module module_2 \($/m);
    expect(runBench(text)).toEqual(['3 wire_open 1']);
  });

  it('keeps presets beyond 32 bits', () => {
    const rig = sketch({
      response: 0,
      switches: { go: false },
      signals: { late: TON('go', 20 * 3_600_000_000) },
      doors: { door: {} },
      drives: { door: 'late' },
      stacks: [['door']],
    });
    const steps = [{ t: 1, net: rig.switches[0]!.net, value: true }];
    expect(runBench(exportVerilog(rig, courseFrom(rig, steps, 72_000_000_002)))).toEqual(['72000000001 door_open 1']);
  });

  it.each([
    ['samples/digester_bank.rig', []],
    ['samples/blast_air_scanned.rig', []],
    ['samples/brine_lift.rig', []],
    ['samples/quay_lock.rig', []],
  ])('of %s by the command line follows the course that trace follows', async (path, options) => {
    const verilog = await run(['export', path, '--to', 'verilog', ...options]);
    expect({ code: verilog.code, err: verilog.err }).toEqual({ code: 0, err: '' });
    const start = Number(/the course begins at (\d+)/.exec(verilog.out.replace(/\n\/\/ /g, ' '))?.[1] ?? 0);
    const opened = runBench(verilog.out).map((line) => line.split(' ') as [string, string, string]);
    const traced = await run(['trace', path]);
    const doors = new Map(
      [...verilog.out.matchAll(/output wire (\w+), \/\/ drives door (\w+)/g)].map((m) => [m[1]!, m[2]!]),
    );
    // A door leaves its seat as it is commanded to open.
    const got = opened
      .filter(([t, name, value]) => value === '1' && Number(t) >= start && doors.has(name))
      .map(([t, name]) => `${(Number(t) - start) / SECOND},${doors.get(name)},1`);
    const expected = traced.out.split('\n').filter((line) => [...doors.values()].some((d) => line.endsWith(`,${d},1`)));
    expect(got.length).toBeGreaterThan(1);
    expect(got).toEqual(expected);
  });
});

it('is refused where a scenario turns the power off', async () => {
  const text = `rig r { medium air
  chamber a { volume 1 m3 }
  chamber b { volume 1 m3 }
  door d { pocket 1 L travel 100 ms }
  stack a > d > b
  controller { response 40 ms }
  switch run = off
  drive d = run
  scenario dark { at 1 s power off  for 5 s }
}
`;
  const { code, out, err } = await run(['export', 'a.rig', '--to', 'verilog', '--scenario', 'dark'], { 'a.rig': text });
  expect({ code, out }).toEqual({ code: 2, out: '' });
  expect(err).toContain('scenario dark turns the power off');
});
