/**
 * What a refuted property prints, followed as a scenario (at rest, or from power-on where it says so), breaks the rig at the printed moment: the operations and times of
 * `prove --json` and nothing else, run by the event engine as scenarios are.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { resolveFile } from '../../server/core/model/resolve';
import type { Rig } from '../../server/core/model/rig';
import { isVented, type Property } from '../../server/core/proof/monitor';
import { createProof } from '../../server/core/proof/prove';
import { brokenAt } from '../../server/core/proof/trace-property';
import { proofJson, type ProofJson } from '../../server/core/report/proof-report';
import { createEngine, initialInputs } from '../../server/core/timing/engine';
import { engineAtRest } from '../../server/core/timing/rest';
import { choose, looseTimes, seededRandom } from '../../server/core/timing/tolerance';
import { randomProperties, randomSmallRig, rigWords } from '../support/random-rig';

const RIGS = Number(process.env.PRINTED_RIGS ?? 60);
const us = (seconds: number) => Math.round(seconds * 1e6);

type Printed = ProofJson['results'][number];

/** The printed steps as a scenario: inputs turn when stated, also at power-on itself. */
function follow(rig: Rig, printed: Printed, until: number) {
  const loose = looseTimes(rig);
  const values = loose.map((p) => {
    const told = printed.times!.find((t) => t.what === p.what && t.name === p.name);
    return told ? us(told.value) : p.nominal;
  });
  const times = choose(rig, loose, values);
  const engine =
    printed.from === 'rest' ? engineAtRest(rig, initialInputs(rig), 200_000, times) : createEngine(rig, { times });
  const named = [...rig.switches, ...rig.sensors];
  for (const { t, input, value } of printed.operations!)
    engine.setInput(named.find((i) => i.name === input)!.net, value, us(t));
  engine.advanceTo(until);
  return engine.trace();
}

/** Moment at which the followed run breaks the property; the run goes on long enough for everything to come to rest. */
function brokenWhenFollowed(rig: Rig, property: Property, printed: Printed): number | null {
  const end = us(printed.brokenAt!);
  const settles = property.kind === 'left-open' || property.kind === 'switched-off';
  const trace = follow(rig, printed, end + (settles ? 60_000_000 : 1));
  return brokenAt(property, rig, trace);
}

function checkAll(rig: Rig, properties: readonly Property[], what: string, states: number): number {
  const proof = createProof(rig, properties, { initial: initialInputs(rig) });
  while (!proof.run(200) && proof.explored < states);
  const printed = proofJson({ rig, proof }).results;
  let refuted = 0;
  printed.forEach((result, k) => {
    if (result.verdict !== 'refuted') return;
    refuted++;
    const property = properties[k]!;
    const where = `${what}: ${result.property} ${JSON.stringify(result.operations)}`;
    // Comes to rest never or late: what is printed is a moment of a round that goes on.
    if (property.kind === 'switched-off' || isVented(property)) return;
    expect(brokenWhenFollowed(rig, property, result), where).toBe(us(result.brokenAt!));
  });
  return refuted;
}

const REFUTED = join(__dirname, '../../samples/refuted');

describe('printed counter-examples', () => {
  it(`of ${RIGS} random rigs break them at the printed moment`, { timeout: 3_600_000 }, () => {
    const random = seededRandom(71);
    let refuted = 0;
    for (let k = 0; k < RIGS; k++) {
      const rig = randomSmallRig(random);
      refuted += checkAll(rig, randomProperties(random, rig), `rig ${k}: ${rigWords(rig)}`, 800);
    }
    expect(refuted).toBeGreaterThan(RIGS / 4);
  });

  it.each(readdirSync(REFUTED))('of samples/refuted/%s break it at the printed moment', (file) => {
    const text = readFileSync(join(REFUTED, file), 'utf8');
    const rig = resolveFile({ uri: `file:///${file}`, tree: parse(text).tree, text }, () => null).rigs[0]!;
    const doors = rig.doors.map((_, d) => d);
    const straight: Property = { kind: 'straight-through', name: 'no straight-through path', doors };
    expect(checkAll(rig, [straight], file, 20_000)).toBe(1);
  });

  it('name the switch when it turns, not when its slow relay has answered', () => {
    const text = `rig yard {
  medium air
  chamber pit  { volume 1 m3  pressure 1 bar }
  chamber barn { volume 1 m3  pressure 1 bar }
  door front { pocket 8 L  travel 90 ms }
  door back  { pocket 8 L  travel 90 ms }
  stack pit > front > back > barn
  controller { response 10 ms }
  switch lever = off
  switch pedal = off
  signal slow  = lever responds 420 ms
  signal quick = TP(pedal, 60 ms)
  drive front = TP(slow, 60 ms)
  drive back  = quick
}
`;
    const rig = resolveFile({ uri: 'file:///yard.rig', tree: parse(text).tree, text }, () => null).rigs[0]!;
    const property: Property = { kind: 'straight-through', name: 'x', doors: [0, 1] };
    const proof = createProof(rig, [property], { initial: initialInputs(rig) });
    while (!proof.run(200) && proof.explored < 20_000);
    const [printed] = proofJson({ rig, proof }).results;
    expect(printed!.operations!.map((o) => o.input)).toEqual(['lever', 'pedal']);
    expect(printed!.operations![0]!.t).toBe(0);
    expect(brokenWhenFollowed(rig, property, printed!)).toBe(us(printed!.brokenAt!));
  });
});
