/**
 * `prove`: which properties hold for every moment at which inputs may change and every time within tolerance. A stepper: the
 * caller gives turns and keeps the budget. Verdicts: proved, refuted (with a counter-example that the event engine has
 * confirmed), or undecided with the reason; never a silent pass.
 */
import type { Rig } from '../../model/rig';
import { createExploration, type Exploration, type SymbolicState } from './explore';
import { slotsOf } from './discrete';
import { replay } from './confirm';
import type { Trace } from '../trace';
import { createMonitor, type Property } from './monitor';
import { netsOf, proofNetwork, type ProofInputState, type ProofNetwork } from './network';
import { rigSystem } from './rig-system';
import { scanSystem, scanWitness, type ScanModel, type ScanPath } from './scan-system';
import { witnessWithConstants } from './constant-times';
import { witnessOf, type RigPath, type Witness } from './witness';

export type ProofVerdict =
  | { readonly state: 'proved' }
  | {
      readonly state: 'refuted';
      readonly witness: Witness;
      /** The replay in the event engine, from power-on. */
      readonly trace: Trace;
    }
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

/** What the two controller styles give alike: a search, and the way back from its paths to moments. */
interface Search {
  readonly exploration: Pick<
    Exploration<SymbolicState, unknown>,
    'run' | 'trouble' | 'explored' | 'stored' | 'entries'
  >;
  /** How many counter-examples were found for a property so far. */
  found(name: string): number;
  /** The k-th of them; null where its moments do not fit together. */
  witness(name: string, k: number): Witness | null;
}

export function createProof(rig: Rig, properties: readonly Property[], start: ProofInputState): Proof {
  const network = proofNetwork(rig, start, watchedNets(properties));
  const search =
    rig.controller.style === 'scan' ? scanSearch(rig, properties, network) : zoneSearch(rig, properties, network);
  const { exploration } = search;
  const verdicts = new Map<Property, ProofVerdict>();
  const doubts = new Map<Property, string>();
  const tried = new Map<Property, number>();
  let finished = false;
  const judge = (property: Property): void => {
    for (let k = tried.get(property) ?? 0; k < search.found(property.name) && !verdicts.has(property); k++) {
      tried.set(property, k + 1);
      const outcome = confirmed(rig, property, search.witness(property.name, k), network);
      if (typeof outcome === 'string') doubts.set(property, outcome);
      else verdicts.set(property, outcome);
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
      properties.forEach(judge);
      return finished || properties.every((p) => verdicts.has(p));
    },
    results: () =>
      properties.map((property) => ({
        property,
        verdict: verdicts.get(property) ?? remaining(search, finished, doubts.get(property)),
      })),
  };
}

function zoneSearch(rig: Rig, properties: readonly Property[], network: ProofNetwork): Search {
  const slots = slotsOf(network);
  const inputMax = new Map(network.inputs.map((input, k) => [slots.input(k), Math.max(input.minOn, input.minOff)]));
  const monitor = createMonitor(rig, properties, slots.observer(0), inputMax);
  const exploration = createExploration(rigSystem(network, monitor));
  const paths = (name: string): readonly RigPath[] => exploration.broken.get(name) ?? [];
  return {
    exploration,
    found: (name) => paths(name).length,
    witness: (name, k) =>
      witnessWithConstants(paths(name)[k]!, network, slots) ?? witnessOf(paths(name)[k]!, network, slots),
  };
}

function scanSearch(rig: Rig, properties: readonly Property[], network: ProofNetwork): Search {
  const { time } = rig.controller;
  const model: ScanModel = { rig, network, properties, scan: { lo: time.min, hi: time.max } };
  const exploration = createExploration(scanSystem(model));
  const paths = (name: string): readonly ScanPath[] => exploration.broken.get(name) ?? [];
  return {
    exploration,
    found: (name) => paths(name).length,
    witness: (name, k) => scanWitness(paths(name)[k]!, network, time.nominal),
  };
}

/** The verdict where the event engine confirms the counter-example, else why it does not count. */
function confirmed(
  rig: Rig,
  property: Property,
  witness: Witness | null,
  network: ProofNetwork,
): ProofVerdict | string {
  if (!witness) return 'the moments of the path found do not fit together';
  const { trace, doubt } = replay(rig, property, witness, network);
  return doubt ?? { state: 'refuted', witness, trace };
}

function remaining({ exploration }: Search, finished: boolean, doubt: string | undefined): ProofVerdict {
  if (exploration.trouble !== null) return { state: 'undecided', reason: exploration.trouble };
  if (doubt !== undefined) return { state: 'undecided', reason: doubt };
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
