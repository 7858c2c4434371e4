/** Exported C, compiled by gcc as strict C99 and run, against the event engine: every change of every net. */
import { describe, expect, it } from 'vitest';
import { exportC } from '../../../server/core/report/exports/c';
import { hasAvr, runOnAvr } from '../../support/avr';
import { hasCompiler, runCompiled } from '../../support/compiled';
import { initialInputs } from '../../../server/core/timing/engine';
import { engineChanges, everyNetDriven, lasting, scriptOf } from '../../support/driven';
import { and, CTU, sketch, TON } from '../../support/network';
import { randomCase } from '../../support/random';
import { sampleRigs } from '../../support/samples';

const CASES = Number(process.env.EXPORT_CASES ?? 20);
/** The simulated machine is slower, and its programs differ from the others in the width of `int` only. */
const AVR_CASES = Math.ceil(CASES / 4);
const SANITIZED = ['-fsanitize=undefined', '-fno-sanitize-recover=all'];

function beforeFault(lines: readonly string[], t: number): string[] {
  return lines.filter((line) => line !== 'fault' && Number(line.split(' ')[0]) < t);
}

describe.skipIf(!hasCompiler())('exported C', () => {
  it(`does what the event engine does on ${CASES} random networks, under the undefined-behaviour sanitizer`, () => {
    let changes = 0;
    for (let seed = 1; seed <= CASES; seed++) {
      const { rig, until, ...made } = randomCase(seed);
      const stimuli = lasting(made.stimuli);
      const driven = everyNetDriven(rig);
      const expected = engineChanges(driven, stimuli, until);
      const got = runCompiled(exportC(driven), scriptOf(driven, stimuli, until), SANITIZED);
      if (expected.at(-1) === 'fault') {
        // A loop that never settles: the export switches everything off at that moment and says so.
        expect(got.at(-1), `seed ${seed}`).toBe('fault');
        const end = Math.max(0, ...expected.filter((l) => l !== 'fault').map((l) => Number(l.split(' ')[0])));
        expect(beforeFault(got, end), `seed ${seed}`).toEqual(beforeFault(expected, end));
      } else expect(got, `seed ${seed}`).toEqual(expected);
      changes += expected.length;
    }
    expect(changes).toBeGreaterThan(CASES);
  }, 600_000);

  it.each(sampleRigs().map((rig) => [rig.name, rig] as const))(
    'of sample %s is strict C99 and strokes alike',
    (_, rig) => {
      const driven = everyNetDriven(rig);
      const SECOND = 1_000_000;
      const initially = initialInputs(rig);
      const stimuli = [...rig.sensors, ...rig.switches].flatMap(({ net }, i) => [
        { t: (5 + 60 * i) * SECOND, net, value: !initially(net) },
        { t: (45 + 60 * i) * SECOND, net, value: initially(net) },
      ]);
      const until = 60 * SECOND * (rig.sensors.length + rig.switches.length);
      const files = exportC(driven);
      expect(runCompiled(files, scriptOf(driven, stimuli, until), ['-Wconversion', '-Wshadow'])).toEqual(
        engineChanges(driven, stimuli, until),
      );
      for (const text of [files.header, files.source, files.main]) expect(text).toContain('injure and kill');
    },
  );

  it('maps names that are keywords, not ASCII or alike, and lists them', () => {
    const rig = sketch({
      name: 'int',
      switches: { while: true, Öffner: false, offner: false, 'a*/b': false },
      signals: { ü: and('while', 'Öffner', 'offner', 'a*/b') },
      doors: { door: {} },
      drives: { door: 'ü' },
      stacks: [['door']],
    });
    const files = exportC(rig);
    expect(files.name).toBe('int_2');
    expect(files.header).toMatch(/Öffner {2}Offner$/m);
    expect(runCompiled(files, '0 Offner 1\n5 offner_2 1\n9 a_b 1\n20 end 0\n')).toEqual(['9 door 1']);
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
    expect(runCompiled(exportC(rig), '1 go 1\n72000000002 end 0\n')).toEqual(['72000000001 door 1']);
  });

  it('counts beyond 16 bits', () => {
    const rig = sketch({
      response: 0,
      switches: { go: false, clear: false },
      signals: { many: CTU('go', 'clear', 70_000) },
      doors: { door: {} },
      drives: { door: 'many' },
      stacks: [['door']],
    });
    const script = Array.from({ length: 140_000 }, (_, t) => `${t + 1} go ${(t + 1) % 2}`);
    expect(runCompiled(exportC(rig), [...script, '200000 end 0', ''].join('\n'))).toEqual(['139999 door 1']);
  });

  it.each(['stdint', 'string', 'math'])('a rig named %s hides no standard header', (name) => {
    const rig = sketch({
      name,
      switches: { go: false },
      signals: { on: and('go', 'go') },
      doors: { door: {} },
      drives: { door: 'on' },
      stacks: [['door']],
    });
    const files = exportC({ ...rig, name });
    expect(files.name).toBe(`${name}_2`);
    expect(runCompiled(files, '5 go 1\n9 end 0\n').length).toBe(1);
  });
});

describe.skipIf(!hasAvr())('exported C where int has 16 bits', () => {
  it(`does what the event engine does on ${AVR_CASES} random networks`, () => {
    let changes = 0;
    for (let seed = 1; seed <= AVR_CASES; seed++) {
      const { rig, until, ...made } = randomCase(seed);
      const stimuli = lasting(made.stimuli);
      const driven = everyNetDriven(rig);
      const expected = engineChanges(driven, stimuli, until);
      if (expected.at(-1) === 'fault') continue;
      expect(runOnAvr(exportC(driven), driven, stimuli, until), `seed ${seed}`).toEqual(expected);
      changes += expected.length;
    }
    expect(changes).toBeGreaterThan(AVR_CASES);
  }, 600_000);

  it.each(sampleRigs().map((rig) => [rig.name, rig] as const))('strokes alike for sample %s', (_, rig) => {
    const SECOND = 1_000_000;
    const initially = initialInputs(rig);
    const stimuli = [...rig.sensors, ...rig.switches].flatMap(({ net }, i) => [
      { t: (5 + 40 * i) * SECOND, net, value: !initially(net) },
      { t: (35 + 40 * i) * SECOND, net, value: initially(net) },
    ]);
    const driven = everyNetDriven(rig);
    const until = 40 * SECOND * (rig.sensors.length + rig.switches.length);
    expect(runOnAvr(exportC(driven), driven, stimuli, until)).toEqual(engineChanges(driven, stimuli, until));
  });
});
