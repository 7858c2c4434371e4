/** The stepper on hand-worked networks: order at one instant, responses, loops, doors. Times in the comments in ms. */
import { describe, expect, it } from 'vitest';
import { createEngine } from '../../server/core/timing/engine';
import type { Rig } from '../../server/core/model/rig';
import { MS, netOf, workedExample } from '../support/network';

function edgesOf(rig: Rig, inputs: readonly [number, string, boolean][], until: number): string[] {
  const engine = createEngine(rig);
  for (const [t, name, value] of inputs) engine.setInput(netOf(rig, name), value, t * MS);
  engine.advanceTo(until * MS);
  const { edges } = engine.trace();
  return edges.map((e) => `${e.t / MS} ${rig.network.nets[e.net].name} ${e.value ? 1 : 0}`);
}

describe('engine', () => {
  it('runs the worked example of the language page', () => {
    const rig = workedExample();
    expect(edgesOf(rig, [[0, 'ready', true]], 12_000)).toEqual([
      '0 ready 1',
      '50 start 1',
      '100 upper_on 1',
      '100 middle_on 1',
      '150 hold 1',
      '200 start 0',
      '1750 upper_on 0',
      '2150 lower_on/TON 1',
      '2200 lower_on 1',
      '2750 middle_on 0',
      '2800 lower_on/TON 0',
      '3850 lower_on 0',
      '11800 hold 0',
      '11850 start 1',
      '11900 upper_on 1',
      '11900 middle_on 1',
      '11950 hold 1',
      '12000 start 0',
    ]);
  });
});
