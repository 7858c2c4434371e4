/** Fail-open doors: `rest open` is where they go without power; with power they are shut by a drive that is off. */
import { describe, expect, it } from 'vitest';
import { proveRig } from '../../server/core/run/prove-rig';
import { rigFrom } from '../support/rig';

const lock = (controller: string, drive: string, extra = ''): string => `
rig lock {
  medium air
  chamber a { volume 1 m3  pressure 1 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door upper { pocket 1 L  travel 300 ms  rest open }
  door lower { pocket 1 L  travel 300 ms }
  stack a > upper > lower > b
  controller { ${controller} }
  switch run = on
  sensor full on a { pressure above 2 bar  clears below 1.5 bar }
  signal go = run and full
  signal upper_on = ${drive}
  signal lower_on = TP(TON(go, 3 s), 1 s)
  drive upper = upper_on
  drive lower = lower_on
  ${extra}
}`;

function verdicts(text: string): Record<string, string> {
  const { proof } = proveRig(rigFrom(text).rig);
  while (!proof.run(500) && proof.explored < 20_000);
  return Object.fromEntries(proof.results().map((r) => [r.property.name, r.verdict.state]));
}

describe.each(['response 20 ms', 'scan 100 ms'])('a fail-open door, %s', (controller) => {
  it('that its drive shuts is not left open', () => {
    const found = verdicts(lock(controller, 'TP(go, 1 s)'));
    expect(found['upper not left open at rest']).toBe('proved');
    expect(found['run off brings every door to rest']).toBe('proved');
  });

  it('that is driven open while nothing happens is, unless that is meant', () => {
    expect(verdicts(lock(controller, 'not go'))['upper not left open at rest']).toBe('refuted');
    const meant = verdicts(lock(controller, 'not go', 'require stands_open(upper)'));
    expect(meant['upper not left open at rest']).toBeUndefined();
  });
});
