import { describe, expect, it } from 'vitest';
import { proveRig } from '../../../server/core/run/prove-rig';
import { analyseRig } from '../../../server/core/run/analyse';
import { timingModels } from '../../../server/core/diagram/timing/model';
import { applyFix, look, problemsWith } from '../rigs';
import { resolveText, rigFrom } from '../../support/rig';

/** A pot that a sensor fills and empties by turns, and a switch that is to blow right through it. */
const POT = (vents: string, inner = 'filling or purge', outer = 'emptying or purge'): string => `rig pot {
  medium air
  chamber line { volume 1 m3  pressure 1.6 bar }
  chamber hood { volume 4 m3  pressure 1.01325 bar }
  door inner { pocket 6 L  travel 40 ms }
  door outer { pocket 6 L  travel 40 ms }
  stack line > inner > outer > hood
  controller { response 0 s }
  switch purge = off${vents}
  sensor charged on line { pressure above 1.8 bar  clears below 1.4 bar }
  signal filling  = TON(charged, 100 ms)
  signal emptying = TON(not charged, 100 ms)
  drive inner = ${inner}
  drive outer = ${outer}
  scenario blow {
    at 100 ms  switch purge on
    at 900 ms  switch purge off
    for 2 s
  }
}`;
const VENTS = ' { vents line, hood }';

const codes = (text: string): string[] =>
  look(text)
    .problems.filter((p) => /^(loss|door\/straight)/.test(p.code))
    .map((p) => p.code);

function through(text: string): string {
  const { proof } = proveRig(rigFrom(text).rig);
  for (let turn = 0; turn < 50 && !proof.run(200); turn++);
  return proof
    .results()
    .filter((r) => r.property.kind === 'straight-through')
    .map((r) => `${r.property.name}: ${r.verdict.state}`)
    .join();
}

describe('vents', () => {
  it('is asked for where a switch opens a path and nothing says so, and the fix states it', () => {
    const [problem] = problemsWith(look(POT('')), 'loss/switch');
    expect(problem!.severity).toBe('error');
    expect(problem!.message).toContain('a path straight through from line to hood');
    const fixed = applyFix(POT(''), problem!.fixes![0]!);
    expect(fixed).toContain('switch purge = off { vents line, hood }');
    expect(codes(fixed)).toEqual([]);
    expect(through(POT(''))).toBe('no straight-through path from line to hood: refuted');
  });

  it('is meant also where the vent is all that moves the doors, whatever else is thrown meanwhile', () => {
    const text = POT(VENTS, 'purge', 'purge').replace('switch purge', 'switch lamp = on\n  switch purge');
    expect(analyseRig(rigFrom(text).rig).timing.strokes.map(({ trigger }) => trigger.name)).toEqual(['purge']);
    expect(codes(text)).toEqual([]);
    expect(through(text)).toBe('no straight-through path from line to hood, except by purge: proved');
    expect(codes(text.replace(VENTS, ''))).not.toEqual([]);
  });

  it('is meant for check, proof and picture alike', () => {
    const text = POT(VENTS);
    expect(codes(text)).toEqual([]);
    expect(through(text)).toBe('no straight-through path from line to hood, except by purge: proved');
    const bands = timingModels(analyseRig(rigFrom(text).rig)).map((model) => model.bands.length);
    expect(bands).toEqual([0, 0]);
    const unstated = timingModels(analyseRig(rigFrom(POT('')).rig)).map((model) => model.bands.length);
    expect(unstated).toEqual([0, 1]);
  });

  it('is meant in a scanned rig, too', () => {
    const scanned = (vents: string) => POT(vents).replace('response 0 s', 'scan 20 ms');
    expect(through(scanned(VENTS))).toBe('no straight-through path from line to hood, except by purge: proved');
    expect(through(scanned(''))).toBe('no straight-through path from line to hood: refuted');
  });

  it('excuses nothing that stays open after the switch is back', () => {
    // Latches hold both doors open until the next filling begins.
    const latched = POT(VENTS, 'SR(purge, filling)', 'SR(purge, filling)');
    expect(through(latched)).toBe('no straight-through path from line to hood, except by purge: refuted');
  });

  it('is an error where the switch does not open all of the path, or where no stack joins the two', () => {
    const [problem] = problemsWith(look(POT(VENTS, 'filling')), 'loss/vents');
    expect(problem!.message).toBe('purge is stated to vent line to hood, but inner stays shut when it is thrown.');
    const apart = POT(' { vents line, line }');
    expect(problemsWith(look(apart), 'loss/vents')[0]!.message).toContain('no stack joins the two');
  });

  it.each([
    [' { vents line }', 'syntax/expected at 9:'],
    [' { vents }', 'syntax/expected at 9:'],
    [' { vents line, hood, line }', 'syntax/expected at 9:'],
    [' { vents line, inner }', 'name/wrong-kind at 9:'],
    [' { vents line, hod }', 'name/unknown at 9:'],
  ])('reports %s at its place, once', (vents, expected) => {
    const { problems } = resolveText(POT(vents));
    expect(problems.map((p) => p.slice(0, expected.length))).toEqual([expected]);
  });
});
