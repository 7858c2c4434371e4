/**
 * Tolerances on small random rigs: what is proved for every time within tolerance is never broken in runs whose times and inputs are
 * drawn, in every other run anew in the midst of it; and worst-case ranges hold what Monte Carlo finds. Seeded (`PROOF_SEED`, `PROOF_RIGS`, `PROOF_RUNS` a rig).
 */
import { describe, expect, it } from 'vitest';
import type { Rig, TimeValue } from '../../server/core/model/rig';
import { createEngine, initialInputs } from '../../server/core/timing/engine';
import { isVented } from '../../server/core/proof/monitor';
import { createProof } from '../../server/core/proof/prove';
import { isInOrder, withLanes } from '../../server/core/proof/drift';
import { brokenAt } from '../../server/core/proof/trace-property';
import {
  choose,
  looseTimes,
  monteCarlo,
  seededRandom,
  worstCase,
  type Random,
} from '../../server/core/timing/tolerance';
import { compileProgram, type Program } from '../../server/core/timing/program';
import { strokeMeasures } from '../../server/core/timing/tolerance-measures';
import { randomProperties, randomSmallRig, rigWords } from '../support/random-rig';

const SEED = Number(process.env['PROOF_SEED'] ?? 7);
const RIGS = Number(process.env['PROOF_RIGS'] ?? 60);
const RUNS = Number(process.env['PROOF_RUNS'] ?? 60);

/** Times up to a fifth, at least a unit, off; a unit is 10 µs, so that whole microseconds lie between. */
function loosen(random: Random, rig: Rig): Rig {
  const loose = (t: TimeValue): TimeValue => {
    const nominal = t.nominal * 10;
    const off = random() < 0.5 ? Math.floor(nominal * 0.2 * random()) : 0;
    return { ...t, nominal, min: nominal - off, max: nominal + off };
  };
  const exact = (t: TimeValue): TimeValue => ({
    ...t,
    nominal: t.nominal * 10,
    min: t.nominal * 10,
    max: t.nominal * 10,
  });
  const time = rig.controller.style === 'scan' ? exact(rig.controller.time) : loose(rig.controller.time);
  const elements = rig.network.elements.map((e) => ({
    ...e,
    preset: e.preset && loose(e.preset),
    response: loose(e.response),
  }));
  return {
    ...rig,
    controller: { ...rig.controller, time },
    network: { ...rig.network, elements },
    doors: rig.doors.map((d) => ({ ...d, opensIn: loose(d.opensIn), closesIn: loose(d.closesIn) })),
    switches: rig.switches.map((s) => ({ ...s, minOn: null, minOff: null })),
    sensors: rig.sensors.map((s) => ({ ...s, minOn: null, minOff: null })),
  };
}

const within = (random: Random, { min, max }: { readonly min: number; readonly max: number }): number =>
  min + Math.floor(random() * (max - min + 1));

/** Draws every preset and response of a program anew: what is used from now on takes the new one. */
function drift(random: Random, rig: Rig, program: Program): void {
  rig.network.elements.forEach(({ preset, response }, e) => {
    if (preset) program.preset[e] = within(random, preset);
    program.response[e] = within(random, response);
  });
}

/** One run with times drawn from their ranges, once or (`drifts`) again and again, and inputs that turn at random, left alone at the end. */
function drawnRun(random: Random, rig: Rig, drifts: boolean) {
  const loose = looseTimes(rig);
  const values = loose.map((p) => within(random, p));
  const drawn = compileProgram(rig, choose(rig, loose, values));
  const program = drifts ? withLanes(drawn) : drawn;
  const engine = createEngine(rig, { program });
  engine.advanceTo(0);
  const inputs = [...rig.switches, ...rig.sensors];
  for (let t = 0; t < 600; t += Math.floor(random() * 60)) {
    engine.advanceTo(t);
    if (drifts) drift(random, rig, program);
    const { net } = inputs[Math.floor(random() * inputs.length)]!;
    engine.setInput(net, !engine.value(net), t + 1);
  }
  engine.advanceTo(700);
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + 1));
  return engine.trace();
}

/** What is about rest, as a vent that is back, needs a run that ends at rest, with its inputs as they must be. */
const AT_ONCE = ['never', 'straight-through', 'power-loss', 'trapped-pocket', 'gap', 'order'];

describe(`tolerances of ${RIGS} random rigs, seed ${SEED}`, () => {
  it('what is proved is never broken', { timeout: 3_600_000 }, () => {
    const random = seededRandom(SEED);
    let proved = 0;
    let runs = 0;
    let drifting = 0;
    for (let k = 0; k < RIGS; k++) {
      const rig = loosen(random, randomSmallRig(random));
      const properties = randomProperties(random, rig).filter((p) => AT_ONCE.includes(p.kind) && !isVented(p));
      const proof = createProof(rig, properties, { initial: initialInputs(rig) });
      while (!proof.run(200) && proof.explored < 800);
      const sound = proof.results().flatMap((r) => (r.verdict.state === 'proved' ? [r.property] : []));
      proved += sound.length;
      for (let run = 0; sound.length > 0 && run < RUNS; run++) {
        const drifts = run % 2 === 1 && rig.controller.style === 'response';
        const trace = drawnRun(random, rig, drifts);
        if (trace.stopped !== null || !isInOrder(trace)) continue;
        runs++;
        if (drifts) drifting++;
        for (const property of sound) {
          const what = `rig ${k}: ${rigWords(rig)} ${property.kind} ${JSON.stringify(trace.edges)}`;
          expect(brokenAt(property, rig, trace), what).toBeNull();
        }
      }
    }
    if (process.env['PROOF_RUNS']) console.log({ rigs: RIGS, proved, runs, drifting });
    expect(proved).toBeGreaterThan(RIGS / 4);
    expect(drifting).toBeGreaterThan(RIGS / 4);
  });

  it('worst-case ranges hold what is drawn, wherever they call themselves exact', { timeout: 600_000 }, () => {
    const random = seededRandom(SEED + 1);
    let looked = 0;
    for (let k = 0; k < RIGS; k++) {
      const rig = loosen(random, randomSmallRig(random));
      if (looseTimes(rig).length === 0) continue;
      const ranges = worstCase(rig, strokeMeasures);
      for (const [name, drawn] of monteCarlo(rig, strokeMeasures, 40, random)) {
        const range = ranges.get(name);
        if (!range?.additive) continue;
        looked++;
        expect(drawn.min, `rig ${k} ${name} ${rigWords(rig)}`).toBeGreaterThanOrEqual(range.min);
        expect(drawn.max, `rig ${k} ${name} ${rigWords(rig)}`).toBeLessThanOrEqual(range.max);
      }
    }
    expect(looked).toBeGreaterThan(RIGS);
  });
});
