/** The stroke worked by hand in REFERENCE.md comes out of the engine. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { flowJson } from '../../server/core/report/flow-json';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';

const reference = readFileSync(join(__dirname, '../../grammar/REFERENCE.md'), 'utf8');
const text = /```rig\n(rig by_hand[^`]*)```/.exec(reference)![1]!;

describe('one stroke by hand', () => {
  const json = flowJson(analyseRig(rigFrom(text).rig));
  const [stack] = json.strokes[0]!.stacks;

  it('moves 2 bar times 100 L at 20 degC: 0.2377 kg', () => {
    expect(reference).toContain('= 0.2377 kg *at start*');
    expect(stack!.atStart).toBeCloseTo((2e5 * 0.1) / (287.05 * 293.15), 5);
    expect(stack!.atStart!.toFixed(4)).toBe('0.2377');
  });

  it('at the trigger of 2.5 bar it is more in proportion', () =>
    expect(stack!.atTrigger / stack!.atStart!).toBeCloseTo(2.5 / 2.2, 6));
});
