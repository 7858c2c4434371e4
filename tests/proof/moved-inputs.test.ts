/**
 * Inputs moved behind the response of the formula that reads them: only where it cannot matter in which round of an instant the formula answers, or that it gives a
 * pulse which lasts no time. Against exhaustive exploration of rigs in which much of that matters, and against single runs. Seeded: `PROOF_SEED`, `PROOF_RIGS`.
 */
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { isInOrder, withLanes } from '../../server/core/proof/drift';
import type { Property } from '../../server/core/proof/monitor';
import { proofNetwork } from '../../server/core/proof/network';
import { createProof, watchedBy, type ProofResult } from '../../server/core/proof/prove';
import { brokenAt } from '../../server/core/proof/trace-property';
import { proveRig } from '../../server/core/run/prove-rig';
import { createEngine, initialInputs } from '../../server/core/timing/engine';
import { compileProgram } from '../../server/core/timing/program';
import { seededRandom } from '../../server/core/timing/tolerance';
import { expectAsExplored } from '../support/explored';
import { delayedRig, latchRig } from '../support/hostile-rig';
import { and, CTU, not, sketch, SR, TOF } from '../support/network';
import { rigFrom } from '../support/rig';
import { truths } from '../support/trackers';

const SEED = Number(process.env['PROOF_SEED'] ?? 93_000);
const RIGS = Number(process.env['PROOF_RIGS'] ?? 24);

describe(`pulses of one round behind a response, ${RIGS} rigs, seed ${SEED}`, () => {
  it('are followed as the exhaustive exploration follows them', { timeout: 3_600_000 }, () => {
    expectAsExplored(seededRandom(SEED), RIGS, delayedRig, { proof: 800, truth: 1_000 });
  });
});

describe(`latches of inputs behind a response, ${Math.ceil(RIGS / 2)} rigs, seed ${SEED}`, () => {
  it('are followed as the exhaustive exploration follows them', { timeout: 3_600_000 }, () => {
    // Switches that turn at every microsecond: what is left after few states is not wrong, only open.
    expectAsExplored(seededRandom(SEED + 1), Math.ceil(RIGS / 2), latchRig, { proof: 600, truth: 1_000, open: 0.25 });
  });

  it('are decided where two switches that turn freely set and reset them', () => {
    const { rig } = rigFrom(`rig started {
      chamber a { volume 6 m3 }
      chamber b { volume 1 m3 }
      controller { response 30 ms +- 6 ms  timer_accuracy 1 % }
      door d { travel 300 ms +- 30 ms }
      door e { travel 300 ms +- 30 ms }
      stack a > d > e > b
      switch begin = off
      switch halt = off
      sensor ripe on a { pressure above 2 bar  clears below 1.6 bar  min_on 2 s  min_off 2 s }
      signal going = SR(begin, halt)
      signal start = going and ripe and not hold
      signal d_on = TOF(start, 1.6 s)
      signal e_on = TOF(TON(d_on, 2.2 s), 1.6 s)
      signal hold = TOF(start, 7 s)
      drive d = d_on
      drive e = e_on and not TOF(d_on, 400 ms)
      require gap(d, e) >= 50 ms
    }`);
    const { proof } = proveRig(rig);
    // 16,000 states were not enough before.
    while (!proof.run(100) && proof.explored < 8_000);
    expect(proof.results().map(({ verdict }) => verdict.state)).not.toContain('undecided');
    expect(movedOf(rig, [])).toEqual(['begin', 'halt', 'ripe']);
  });
});

/** Those of a network whose inputs show one response after they turn. */
const movedOf = (rig: Rig, asked: readonly Property[]): string[] =>
  proofNetwork(rig, { initial: initialInputs(rig) }, watchedBy(asked))
    .inputs.filter(({ movedBehind }) => movedBehind >= 0)
    .map(({ name }) => name);

describe('an element that answers in the round after', () => {
  /** `p` and `q` on, and the latch that `q` sets one round later off: for one round of an instant. */
  const latched = (responds: number): Rig =>
    sketch({
      response: 2,
      sensors: { p: 'above', q: 'above' },
      signals: { u: { is: SR('q', false), responds }, pulse: and('p', 'q', not('u')), seen: CTU('pulse', false, 1) },
      doors: { a: 1, b: 1 },
      drives: { a: 'seen', b: 'pulse' },
      stacks: [['a', 'b']],
    });
  it('makes a pulse that lasts no time, which a counter two responses later has seen', () => {
    const rig = latched(0);
    const seen = rig.signals.find(({ name }) => name === 'seen')!.net;
    const asked: Property[] = [
      { kind: 'never', name: 'never seen', condition: { op: 'net', net: seen } },
      { kind: 'never', name: 'never a', condition: { op: 'door', door: 0 } },
      { kind: 'never', name: 'never b', condition: { op: 'door', door: 1 } },
    ];
    const proof = createProof(rig, asked, { initial: initialInputs(rig) });
    while (!proof.run(100));
    expect(truths(rig, asked, 100_000)).toEqual([true, true, false]);
    expect(proof.results().map(({ verdict }) => verdict.state)).toEqual(['refuted', 'refuted', 'proved']);
    expect(movedOf(rig, asked)).toEqual([]);
  });

  it('keeps inputs where they are only in front of what it feeds', () => {
    expect(movedOf(latched(2), [])).toEqual(['p']);
    const beside = sketch({
      response: 2,
      sensors: { p: 'above', q: 'above' },
      signals: { level: and('p', 'seen'), late: { is: TOF('q', 3), responds: 0 }, seen: SR('late', 'level') },
    });
    expect(movedOf(beside, [])).toEqual([]);
    const apart = sketch({
      response: 2,
      sensors: { p: 'above', q: 'above' },
      signals: { level: 'p', late: { is: TOF('level', 3), responds: 0 } },
    });
    expect(movedOf(apart, [])).toEqual(['p']);
  });
});

describe('a response that varies', () => {
  // On after 12 ms, off 4 ms later after 8 ms: both at once. The one door does not move, the other gets its pulse.
  const text = (varies: string, least: string): string => `rig zero {
    chamber a { volume 6 m3 }
    chamber b { volume 1 m3 }
    controller { response 10 ms${varies} }
    door d { travel 1 ms }
    door e { travel 1 ms }
    stack a > d > e > b
    sensor p on a { pressure above 2 bar  clears below 1.5 bar  min_on ${least}  min_off 1 s }
    signal level = p
    drive d = level
    drive e = TP(level, 100 ms)
    require order(d opens, e opens)
  }`;
  const proved = (rig: Rig): ProofResult => {
    const { proof } = proveRig(rig, 'order');
    while (!proof.run(100));
    return proof.results()[0]!;
  };

  it('gives a pulse that lasts no time: no door moves first that should', () => {
    const { rig } = rigFrom(text(' +- 2 ms', '3 ms'));
    const program = withLanes(compileProgram(rig));
    const engine = createEngine(rig, { program });
    const { net } = rig.sensors[0]!;
    const turn = (on: boolean, t: number, response: number): void => {
      engine.advanceTo(t - 1);
      program.response[0] = response;
      engine.setInput(net, on, t);
      engine.advanceTo(t);
    };
    turn(true, 2_000_000, 12_000);
    turn(false, 2_004_000, 8_000);
    engine.advanceTo(2_500_000);
    const { property, verdict } = proved(rig);
    expect(isInOrder(engine.trace())).toBe(true);
    expect(brokenAt(property, rig, engine.trace())).toBe(2_022_000);
    expect(verdict).toMatchObject({ state: 'refuted' });
  });

  it('gives none where the sensor stays on for longer than it varies, or it does not vary', () => {
    expect(proved(rigFrom(text(' +- 2 ms', '5 ms')).rig).verdict.state).toBe('proved');
    expect(proved(rigFrom(text('', '3 ms')).rig).verdict.state).toBe('proved');
  });
});
