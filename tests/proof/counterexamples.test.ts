/** Moments of counter-examples before and after their replay, and how questions are divided among searches. */
import { describe, expect, it } from 'vitest';
import { builtinProperties } from '../../server/core/proof/builtin';
import { createMonitor, type Property } from '../../server/core/proof/monitor';
import { proofNetwork, type ProofNetwork } from '../../server/core/proof/network';
import { piecesOf } from '../../server/core/proof/parts';
import { createProof, watchedBy, type ProofVerdict } from '../../server/core/proof/prove';
import { witnessWithConstants } from '../../server/core/proof/zone/constant-times';
import { slotsOf } from '../../server/core/proof/zone/discrete';
import { createExploration } from '../../server/core/proof/explore';
import { scanSearch } from '../../server/core/proof/searches';
import { rigSystem } from '../../server/core/proof/zone/system';
import { initialInputs } from '../../server/core/timing/engine';
import { proveRig } from '../../server/core/run/prove-rig';
import type { Rig, TimeValue } from '../../server/core/model/rig';
import { and, CTU, not, or, sketch, SR, TOF, TON, TP } from '../support/network';
import { rigFrom } from '../support/rig';
import { truths } from '../support/trackers';

const MS = 1_000;
const STRAIGHT: Property = { kind: 'straight-through', name: 'straight', doors: [0, 1] };

/** Two doors opened one after the other by one sensor; both open together. */
const overlapping = (style: { readonly response: number } | { readonly scan: number }): Rig =>
  sketch({
    ...style,
    sensors: { s: 'above' },
    signals: { one: 's', two: TON('one', 300 * MS) },
    doors: { a: 100 * MS, b: 100 * MS },
    drives: { a: 'one', b: 'two' },
    stacks: [['a', 'b']],
  });

function refutation(rig: Rig, property: Property): Extract<ProofVerdict, { state: 'refuted' }> {
  const proof = createProof(rig, [property], { initial: initialInputs(rig) });
  while (!proof.run(500) && proof.explored < 20_000);
  const [{ verdict } = { verdict: null }] = proof.results();
  if (verdict?.state !== 'refuted') throw new Error(JSON.stringify(verdict));
  return verdict;
}

/** The first path by which a search of the network breaks a property, and what is needed to date it. */
function pathTo(rig: Rig, property: Property) {
  const network: ProofNetwork = proofNetwork(rig, { initial: initialInputs(rig) }, watchedBy([]));
  const slots = slotsOf(network);
  const exploration = createExploration(rigSystem(network, createMonitor(rig, network, [property], slots.observer(0))));
  while (!exploration.run(500) && !exploration.broken.has(property.name));
  return { path: exploration.broken.get(property.name)![0]!, network, slots };
}

describe('moments of a counter-example', () => {
  it('from rest begin with the first operation', () => {
    const { witness } = refutation(overlapping({ response: 50 * MS }), STRAIGHT);
    expect(witness.from).toBe('rest');
    expect(witness.operations[0]!.t).toBe(0);
  });

  it('of a door left open count a rest with all inputs back at the start, not one on the way', () => {
    const ask = or('off', and('p', 'q'));
    const rig = sketch({
      response: 1,
      sensors: { p: 'above', q: 'below' },
      signals: { on: SR(ask, TON(ask, 1)), off: not('on') },
      doors: { a: 0, b: { travel: 0, rest: 'open' } },
      drives: { a: 'on', b: 'off' },
      stacks: [['a', 'b']],
    });
    // With p and q on it rests with a open; with q off again it never rests.
    const initial = initialInputs(rig);
    const asked = builtinProperties(rig, initial).filter(({ name }) => name === 'a not left open at rest');
    const proof = createProof(rig, asked, { initial });
    while (!proof.run(500) && proof.explored < 500);
    expect(truths(rig, asked, 1_000)).toEqual([false]);
    expect(proof.results().map(({ verdict }) => verdict.state)).not.toContain('refuted');
  });

  it('leave out what the rig did to come to rest', () => {
    const rig = sketch({
      response: 0,
      sensors: { s: 'above' },
      switches: { run: true },
      signals: { ready: TON('run', 300 * MS), one: and('s', 'ready') },
      doors: { a: 100 * MS, b: 100 * MS },
      drives: { a: 'one', b: 'one' },
      stacks: [['a', 'b']],
    });
    const { witness } = refutation(rig, STRAIGHT);
    expect([witness.from, witness.operations.map(({ t }) => t)]).toEqual(['rest', [0]]);
  });

  it('keep an operation apart from what the path has before it', () => {
    const rig = sketch({
      response: 0,
      sensors: { s: 'above', u: 'above' },
      signals: { twice: CTU(TON('s', 300 * MS), 'u', 2) },
      doors: { a: 100 * MS, b: 100 * MS },
      drives: { a: 'twice', b: 'twice' },
      stacks: [['a', 'b']],
    });
    const { path, network, slots } = pathTo(rig, STRAIGHT);
    const { operations, times } = witnessWithConstants(path, network, slots)!;
    const others = times.filter((_, k) => path[k]!.label?.inputs.length === 0);
    expect(operations.filter(({ t }) => others.includes(t))).toEqual([]);
    expect(refutation(rig, STRAIGHT).witness.operations.map(({ value }) => value)).toEqual([true, false, true]);
  });

  it('leave no more than they need between one operation and the next', () => {
    const rig = sketch({
      response: 0,
      sensors: { s: 'above', u: 'above' },
      signals: { one: TOF('s', 200 * MS), two: 'u' },
      doors: { a: 100 * MS, b: 100 * MS },
      drives: { a: 'one', b: 'two' },
      stacks: [['a', 'b']],
    });
    const order: Property = {
      kind: 'order',
      name: 'order',
      events: [
        { door: 1, event: 'opens' },
        { door: 0, event: 'opened' },
      ],
    };
    const { witness } = refutation(rig, order);
    expect(witness.operations.map(({ t }) => t)).toEqual([0]);
  });

  it('show an input that was moved behind a response no sooner than that response, and not much later', () => {
    const response = 50 * MS;
    const { path, network, slots } = pathTo(overlapping({ response }), STRAIGHT);
    expect(network.inputs[0]!.shift.hi).toBe(response);
    const witness = witnessWithConstants(path, network, slots)!;
    expect(witness.operations[0]!.t).toBeGreaterThanOrEqual(response);
    expect(witness.operations[0]!.t).toBeLessThan(10 * response);
  });

  it('show it no sooner than the latest response, where that has a tolerance', () => {
    const rig = overlapping({ response: 50 * MS });
    const loose = (t: TimeValue): TimeValue => (t.max === 0 ? t : { ...t, min: t.min - 20 * MS, max: t.max + 20 * MS });
    const elements = rig.network.elements.map((e) => ({ ...e, response: loose(e.response) }));
    const { path, network, slots } = pathTo({ ...rig, network: { ...rig.network, elements } }, STRAIGHT);
    expect(witnessWithConstants(path, network, slots)!.operations[0]!.t).toBeGreaterThanOrEqual(70 * MS);
  });

  it('of a scanned rig are its scans', () => {
    const period = 10 * MS;
    const { witness } = refutation(overlapping({ scan: period }), STRAIGHT);
    expect(witness.times.length).toBeGreaterThan(30);
    expect(witness.times).toEqual(witness.times.map((_, k) => k * period));
    const rig = overlapping({ scan: period });
    const search = scanSearch(rig, [STRAIGHT], proofNetwork(rig, { initial: initialInputs(rig) }, watchedBy([])));
    while (!search.exploration.run(500) && search.found(STRAIGHT.name) === 0);
    const found = search.witness(STRAIGHT, 0);
    expect(typeof found === 'object' && found.end).toBe(witness.times[witness.times.length - 1]);
  });
});

describe('a door that a sensor moves again and again', () => {
  it('does not come to rest with the switch off, however many rounds there are beside it', () => {
    const rig = sketch({
      response: 0,
      sensors: { s: 'above' },
      switches: { run: true },
      signals: { pulse: TP('s', 1), gated: and('run', TOF('s', 4)) },
      doors: { a: { travel: 3, rest: 'open' }, b: { travel: 2, rest: 'open' } },
      drives: { a: 'pulse', b: 'pulse' },
      stacks: [['a', 'b']],
    });
    const off: Property = { kind: 'switched-off', name: 'rests', switches: new Map([[rig.switches[0]!.net, false]]) };
    expect(truths(rig, [off], 20_000)).toEqual([true]);
    expect(refutation(rig, off).witness.operations.length).toBeGreaterThan(1);
  });
});

describe('questions', () => {
  const vented = rigFrom(`rig lock {
    chamber hopper { volume 1 m3 }
    chamber bin { volume 1 m3 }
    door flap { travel 100 ms }
    door slide { travel 100 ms }
    stack hopper > flap > slide > bin
    controller { response 10 ms }
    switch clean = off { vents hopper, bin }
    drive flap = clean
    drive slide = clean
  }`).rig;

  it('about doors that come to rest are asked door by door, where there are two or more', () => {
    const off = (rig: Rig): Property => ({
      kind: 'switched-off',
      name: 'rests',
      switches: new Map([[rig.switches[0]!.net, false]]),
    });
    expect(piecesOf(vented, [off(vented)]).map(({ property }) => property.name)).toEqual([
      'rests (flap)',
      'rests (slide)',
    ]);
    const single = { ...vented, drives: vented.drives.slice(0, 1) };
    expect(piecesOf(single, [off(single)]).map(({ property }) => property.name)).toEqual(['rests']);
  });

  it('about a path that is vented are answered alike beside one about an order', () => {
    const [path, loss] = (['straight-through', 'power-loss'] as const).map(
      (kind) =>
        proveRig(vented)
          .proof.results()
          .find(({ property }) => property.kind === kind)!.property,
    ) as [Property, Property];
    for (const asked of [path, loss]) expect('vents' in asked && asked.vents).toHaveLength(1);
    const order: Property = {
      kind: 'order',
      name: 'order',
      events: [
        { door: 0, event: 'opens' },
        { door: 0, event: 'opened' },
      ],
    };
    const network = proofNetwork(
      vented,
      { initial: initialInputs(vented) },
      { ...watchedBy([]), nets: new Set([vented.switches[0]!.net]) },
    );
    for (const asked of [[path], [order, path], [order, loss, path], [order, path, loss]]) {
      const monitor = createMonitor(vented, network, asked, slotsOf(network).observer(0));
      const exploration = createExploration(rigSystem(network, monitor));
      while (!exploration.run(500) && exploration.explored < 10_000);
      for (const { name } of [path, loss])
        expect(exploration.broken.has(name), `${name}, ${asked.length} asked`).toBe(false);
    }
  });
});
