/** Exported structured text, read by a reader of the standard's syntax and run scan by scan, against the event engine in scanned style. */
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../../server/core/model/rig';
import { durationLiteral, exportStructuredText } from '../../../server/core/report/exports/structured-text';
import { engineChanges, everyNetDriven, lasting } from '../../support/driven';
import { and, CTU, MS, sketch, TON } from '../../support/network';
import { randomCase, type Stimulus } from '../../support/random';
import { sampleRigs } from '../../support/samples';
import { readStructuredText } from '../../support/st-reader';

const CASES = Number(process.env.EXPORT_CASES ?? 100);

/** The same network on a scanned controller: what structured text can say of it. */
function scanned(rig: Rig, scan: number): Rig {
  const time = { ...rig.controller.time, nominal: scan, min: scan, max: scan };
  return { ...rig, controller: { ...rig.controller, style: 'scan', time } };
}

function textChanges(rig: Rig, stimuli: readonly Stimulus[], until: number): string[] {
  const program = readStructuredText(exportStructuredText(rig));
  const scan = rig.controller.time.nominal;
  const nets = rig.network.nets.flatMap((net, index) => (net.kind === 'element' ? [] : [index]));
  const inputs = new Map<string, boolean>(program.inputs.map((name, i) => [name, initial(rig, nets[i]!)]));
  const lines: string[] = [];
  const shown = new Map<string, boolean>(program.outputs.map((name) => [name, false]));
  let next = 0;
  const sorted = [...stimuli].sort((a, b) => a.t - b.t);
  for (let t = 0; t <= until; t += scan) {
    for (; next < sorted.length && sorted[next]!.t <= t; next++)
      inputs.set(program.inputs[nets.indexOf(sorted[next]!.net)]!, sorted[next]!.value);
    const values = program.scan(t, inputs);
    program.outputs.forEach((name, i) => {
      const value = values.get(name)!;
      if (value !== shown.get(name)) lines.push(`${t} e${i} ${value ? 1 : 0}`);
      shown.set(name, value);
    });
  }
  return lines;
}

function initial(rig: Rig, net: number): boolean {
  const toggle = rig.switches.find((s) => s.net === net);
  if (toggle) return toggle.initial;
  const sensor = rig.sensors.find((s) => s.net === net)!;
  return sensor.initiallyOn ?? sensor.on?.side === 'below';
}

describe('exported structured text', () => {
  it(`does what the event engine does scan by scan on ${CASES} random networks`, () => {
    let changes = 0;
    for (let seed = 1; seed <= CASES; seed++) {
      const { rig, until, ...made } = randomCase(seed);
      const driven = everyNetDriven(scanned(rig, 10 * MS));
      const stimuli = lasting(made.stimuli);
      const expected = engineChanges(driven, stimuli, until);
      expect(textChanges(driven, stimuli, until), `seed ${seed}`).toEqual(expected);
      changes += expected.length;
    }
    expect(changes).toBeGreaterThan(CASES);
  });

  it.each(sampleRigs().map((rig) => [rig.name, rig] as const))('of sample %s is of the standard form', (_, rig) => {
    const text = exportStructuredText(rig);
    const program = readStructuredText(text);
    expect(program.outputs.length).toBe(new Set(rig.drives.map((d) => `${d.kind} ${d.target}`)).size);
    expect(text).toContain('injure and kill');
  });

  it('writes durations of the standard', () => {
    expect([0, 40, 250_000, 1_800_000, 3_600_000_012].map(durationLiteral)).toEqual([
      'T#0s',
      'T#40us',
      'T#250ms',
      'T#1s800ms',
      'T#3600s12us',
    ]);
  });

  it('counts beyond INT in DINT, and says what it asks of TIME', () => {
    const network = (signals: Parameters<typeof sketch>[0]['signals']) =>
      sketch({ response: 0, switches: { go: false }, signals, doors: { d: {} }, drives: { d: 's' }, stacks: [['d']] });
    const many = exportStructuredText(network({ s: CTU('go', 'go', 40_000) }));
    expect(many).toMatch(/: CTU_DINT;/);
    expect(readStructuredText(many).outputs).toHaveLength(1);
    expect(exportStructuredText(network({ s: CTU('go', 'go', 4) }))).toMatch(/: CTU;/);
    expect(exportStructuredText(network({ s: TON('go', 2 * MS) }))).not.toMatch(/finer|longer/);
    expect(exportStructuredText(network({ s: TON('go', 1500) }))).toContain('finer than 1 ms');
    expect(exportStructuredText(network({ s: TON('go', 30 * 86_400_000 * MS) }))).toContain('longer than 24 days');
  });

  it('maps names that are keywords, not ASCII or alike but for case, and lists them', () => {
    const rig = sketch({
      name: 'program',
      switches: { if: true, Öffner: false, offner: false },
      signals: { ton: and('if', 'Öffner', 'offner') },
      doors: { door: {} },
      drives: { door: 'ton' },
      stacks: [['door']],
    });
    const text = exportStructuredText(rig);
    expect(text).toMatch(/^ {4}Öffner {2}Offner$/m);
    expect(text).toMatch(/^ {4}offner {2}offner_2$/m);
    expect(readStructuredText(text).name).toBe('PROGRAM_2');
  });
});
