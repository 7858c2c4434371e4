/** Three-valve peristaltic pattern: Unger et al., Science 288, 113 (2000); ideal pockets, one unit each, incompressible. */
import { describe, expect, it } from 'vitest';
import type { FlowModel } from '../../server/core/flow/rig-model';
import { Balance } from '../../server/core/flow/balance';
import { startContents } from '../../server/core/flow/engine';
import { compileStroke } from '../../server/core/flow/program';
import { lineNetwork, stepPattern, vessel } from '../support/flow';

const PATTERN = ['101', '100', '110', '010', '011', '001'];

/** A packed medium of density 1 in all places moves as an ideal incompressible one as long as the chambers are large. */
function packedLine(): FlowModel {
  const law = { phase: 'packed', name: 'p', title: '', temperature: 293.15 } as const;
  const big = 1e6;
  const pocket = { open: 1 };
  return {
    law,
    network: lineNetwork([big, big], [pocket, pocket, pocket]),
    vessels: [vessel(big, 293.15), vessel(big, 293.15)],
    lines: [],
    start: [big, big],
  };
}

/** Mass drawn from the inlet and delivered at the outlet, step by step, in the second cycle. */
function cycle(steps: readonly string[], openDigit = '0'): { in: number[]; out: number[] } {
  const model = packedLine();
  const program = compileStroke(model.network, stepPattern(steps, openDigit));
  const balance = new Balance(model, startContents(model, program.startVolumes));
  balance.stroke(program);
  const drawn: number[] = steps.map(() => 0);
  const delivered: number[] = steps.map(() => 0);
  let [inlet, outlet] = balance.contents.mass;
  for (const step of program.steps) {
    balance.step(step, {});
    const k = Math.min(Math.floor(step.t / 1e6), steps.length - 1);
    drawn[k] += inlet - balance.contents.mass[0];
    delivered[k] += balance.contents.mass[1] - outlet;
    [inlet, outlet] = balance.contents.mass;
  }
  return { in: drawn, out: delivered };
}

const sum = (xs: readonly number[]): number => xs.reduce((a, x) => a + x, 0);

describe('three-valve peristaltic pattern', () => {
  it('exchanges in each step what the ideal pocket model says', () => {
    const { in: drawn, out } = cycle(PATTERN);
    // Steps begin with the change from 001 to 101: valve 1 closes, one unit back into the inlet; then valve 3 opens, …
    [-1, 0, 0, 1, 0, 1].forEach((x, k) => expect(drawn[k]).toBeCloseTo(x, 4));
    [0, -1, 1, 0, 1, 0].forEach((x, k) => expect(out[k]).toBeCloseTo(x, 4));
  });

  it('moves one pocket per cycle, whichever digit means open', () => {
    for (const digit of ['0', '1']) {
      const { in: drawn, out } = cycle(PATTERN, digit);
      expect(sum(drawn)).toBeCloseTo(1, 4);
      expect(sum(out)).toBeCloseTo(1, 4);
    }
  });

  it('moves one pocket back when the pattern runs backwards', () => {
    const { in: drawn, out } = cycle([...PATTERN].reverse());
    expect(sum(drawn)).toBeCloseTo(-1, 4);
    expect(sum(out)).toBeCloseTo(-1, 4);
  });

  it('moves one pocket with the other published list, 1 = open', () => {
    const { out } = cycle(['000', '100', '110', '010', '011', '001'], '1');
    expect(sum(out)).toBeCloseTo(1, 4);
  });
});
