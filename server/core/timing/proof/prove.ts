/**
 * `prove`: which properties hold for every moment at which inputs may change and every time within tolerance. A stepper: the
 * caller gives turns and keeps the budget. Verdicts: proved, refuted (with a counter-example that the event engine has
 * confirmed), or undecided with the reason; never a silent pass.
 */
import type { Rig } from '../../model/rig';
import { createExploration, type Exploration } from './explore';
import { slotsOf } from './discrete';
import { createMonitor, type Property } from './monitor';
import { netsOf, proofNetwork, type ProofInputState, type ProofNetwork } from './network';
import { rigSystem, type RigLabel, type RigState } from './rig-system';
import { witnessOf, type Witness } from './witness';

export type ProofVerdict =
  | { readonly state: 'proved' }
  | { readonly state: 'refuted'; readonly witness: Witness }
  | { readonly state: 'undecided'; readonly reason: string };

export interface ProofResult {
  readonly property: Property;
  readonly verdict: ProofVerdict;
}

export interface Proof {
  /** Works off at most `turns` symbolic states; true when every property is decided or nothing is left. */
  run(turns: number): boolean;
  /** Verdicts as far as they are known; undecided ones carry what was explored. */
  results(): ProofResult[];
  readonly network: ProofNetwork;
  readonly explored: number;
  readonly stored: number;
  /** Bytes of the zones stored. */
  readonly bytes: number;
}

/** Confirms a counter-example in the event engine; null where it shows the property broken, else why it does not. */
export type Confirm = (property: Property, witness: Witness, network: ProofNetwork) => string | null;

export function createProof(
  rig: Rig,
  properties: readonly Property[],
  start: ProofInputState,
  confirm: Confirm,
): Proof {
  const network = proofNetwork(rig, start, watchedNets(properties));
  const slots = slotsOf(network);
  const inputMax = new Map(network.inputs.map((input, k) => [slots.input(k), Math.max(input.minOn, input.minOff)]));
  const monitor = createMonitor(rig, properties, slots.observer(0), inputMax);
  const exploration = createExploration(rigSystem(network, monitor));
  const verdicts = new Map<Property, ProofVerdict>();
  let finished = false;
  let overflow: string | null = null;

  const judge = (): void => {
    for (const property of properties) {
      const path = exploration.broken.get(property.name);
      if (!path || verdicts.has(property)) continue;
      const witness = witnessOf(path, network, slots);
      const doubt = witness ? confirm(property, witness, network) : 'the moments of the path found do not fit together';
      verdicts.set(
        property,
        doubt === null ? { state: 'refuted', witness: witness! } : { state: 'undecided', reason: doubt },
      );
    }
  };
  return {
    network,
    get explored() {
      return exploration.explored;
    },
    get stored() {
      return exploration.stored;
    },
    get bytes() {
      return exploration.entries * 8;
    },
    run(turns) {
      finished = exploration.run(turns);
      overflow ??= exploration.trouble;
      judge();
      return finished || properties.every((p) => verdicts.has(p));
    },
    results: () =>
      properties.map((property) => ({
        property,
        verdict: verdicts.get(property) ?? remaining(exploration, finished, overflow),
      })),
  };
}

function remaining(
  exploration: Exploration<RigState, RigLabel>,
  finished: boolean,
  trouble: string | null,
): ProofVerdict {
  if (trouble !== null) return { state: 'undecided', reason: trouble };
  if (finished) return { state: 'proved' };
  return { state: 'undecided', reason: `the budget ran out after ${exploration.explored} symbolic states` };
}

/** Nets that conditions look at: their inputs must not be moved behind a response. */
function watchedNets(properties: readonly Property[]): Set<number> {
  const nets = new Set<number>();
  const visit = (c: Parameters<typeof netsOf>[0] | { op: 'door' }): void => {
    if (c.op === 'net') nets.add(c.net);
    else if (c.op === 'not') visit(c.a);
    else if (c.op !== 'const' && c.op !== 'door') {
      visit(c.a);
      visit(c.b);
    }
  };
  for (const property of properties) {
    if (property.kind === 'never') visit(property.condition as Parameters<typeof visit>[0]);
  }
  return nets;
}
