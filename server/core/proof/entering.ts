/** Operations of a counter-example as the event engine gets them. */
import type { Engine } from '../timing/engine';
import type { ProofNetwork } from './network';
import type { Operation } from './witness';

/** Enters operations in order of time; gives them as entered. */
export function enterAll(engine: Engine, network: ProofNetwork, operations: readonly Operation[]): Operation[] {
  const sorted = [...operations].sort((a, b) => a.t - b.t);
  for (const { t, input, value } of sorted) engine.setInput(network.inputs[input]!.net, value, t);
  return sorted;
}

/**
 * Whether operations at the moment of power-on do the same as once everything without a response has answered to it, which is when they are
 * made: then they are entered with the power, and a door that they call back at once has not moved. `powered`: engines just made.
 */
export function isSameWithPower(
  powered: () => Engine,
  network: ProofNetwork,
  operations: readonly Operation[],
): boolean {
  const first = operations.filter(({ t }) => t <= 0).map((operation) => ({ ...operation, t: 0 }));
  if (first.length === 0) return true;
  const [withIt, after] = [powered(), powered()];
  after.advanceTo(0);
  for (const engine of [withIt, after]) {
    enterAll(engine, network, first);
    engine.advanceTo(0);
  }
  return withIt.key() === after.key();
}
