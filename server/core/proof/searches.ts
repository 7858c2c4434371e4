/**
 * What the two controller styles give a proof alike: a search of the states, and the way back from its paths to moments. Everything above
 * this file (verdicts, stages, replays) is the same for relays and for scanned controllers; everything below knows one of them.
 */
import { idlesOpen } from '../model/intent';
import type { Rig } from '../model/rig';
import { slotsOf } from './zone/discrete';
import { createExploration, type Exploration, type Joins, type Step, type SymbolicState } from './explore';
import { scopeOf, wholeScope } from './cone';
import { createMonitor, restingDoors, type Property } from './monitor';
import type { RigLabel } from './zone/moves';
import type { ProofNetwork } from './network';
import { createReturnSearch, type LateAway, type ReturnSystem } from './return-search';
import { rigSystem, type RigState } from './zone/system';
import type { ScanLabel, ScanModel, ScanState } from './scan/state';
import { scanSystem, scanWitness } from './scan/system';
import { lookAt } from './scan/watch';
import { witnessWithConstants } from './zone/constant-times';
import { LESS_IN_DOUBT, witnessOf, type RigPath, type Witness } from './witness';
import { say } from '../words/say';

export type Switched = Extract<Property, { kind: 'switched-off' }>;

/** Moments of a counter-example, or why the path found does not count. */
export type Found = Witness | string;

/** A counter-example about doors that must come to rest: a run to a state that may be had as late as wanted, and on from there. */
export interface LateFound {
  readonly witness: Found;
  /** Operations before that state, which lasts by itself or (`lasts` false) is one of a round. */
  readonly before: number;
  readonly lasts: boolean;
}

export interface Search {
  readonly exploration: Pick<Exploration<SymbolicState, unknown>, 'run' | 'trouble' | 'explored' | 'stored' | 'bytes'>;
  /** How many counter-examples were found for a property so far. */
  found(name: string): number;
  /** The k-th of them. */
  witness(property: Property, k: number): Found;
  /** A search of the finished graph: do doors come to rest? */
  returns(property: Switched): ReturnQuestion;
}

export interface ReturnQuestion {
  run(turns: number): boolean;
  candidates(): readonly LateFound[];
}

const NOT_TOGETHER = (): string => say`the moments of the path found do not fit together; ${LESS_IN_DOUBT()}`;
const FREE = (): string =>
  say`a signal may change faster than the element behind it answers; state min_on and min_off of the sensors and switches`;

/** A rig in response style. Searched is `explored`, which may do more than `network`: moments are those of `network`. `joins`: see explore.ts. */
export function zoneSearch(
  rig: Rig,
  properties: readonly Property[],
  network: ProofNetwork,
  explored: ProofNetwork,
  joins: Joins = 'never',
): Search {
  const slots = slotsOf(network);
  // Slots are those of `network`; `explored` has the same elements, doors and inputs, so that they mean the same in both.
  const monitor = createMonitor(rig, network, properties, slots.observer(0));
  const system = rigSystem(explored, monitor);
  const exploration = createExploration(system, joins);
  // First with one value for each time, as on a real rig; only then with times that differ from use to use.
  const moments = (path: RigPath): Found => {
    if (path.some(({ label }) => label?.free)) return FREE();
    return witnessWithConstants(path, network, slots) ?? witnessOf(path, network, slots) ?? NOT_TOGETHER();
  };
  const isSwitch = (index: number): boolean => network.inputs[index]!.kind === 'switch';
  // Clocks from here on need not fire: those of inputs and observers.
  const unforced = slots.input(0);
  const away = (resting: readonly number[], { discrete }: RigState): boolean =>
    resting.some((d) => discrete.doors[d]!.phase !== (idlesOpen(rig, d) ? 'open' : 'shut'));
  const returning = (property: Switched): ReturnSystem<RigState, RigLabel> => ({
    *successors(state) {
      for (const step of system.successors(state)) yield step && 'later' in step ? null : step;
    },
    // Left out of the graph: states with a switch elsewhere, and steps that operate one. What is left is the rig after the throw.
    inside: ({ discrete }) => [...property.switches].every(([net, on]) => (discrete.nets[net] === 1) === on),
    allows: (label) => !label.inputs.some(({ index }) => isSwitch(index)),
    away: (state) => away(restingDoors(property, rig), state),
    // No clock has to fire: timers, changes in flight and moving doors are numbered below inputs and observers (`slotsOf`).
    mayLast: ({ slots: running }) => running.every((slot) => slot >= unforced),
    runningOn: ({ origins }) =>
      // A slot that continues itself ran on through the step; any other origin is a start, or a change that moved up in its queue.
      [...origins].flatMap(([slot, from]) => (slot === from && slot < unforced ? [slot] : [])),
  });
  return {
    exploration,
    found: (name) => exploration.broken.get(name)?.length ?? 0,
    witness: ({ name }, k) => moments(exploration.broken.get(name)![k]!),
    returns: (property) =>
      returnQuestion(exploration, returning(property), moments, (path) =>
        path.reduce((count, { label }) => count + (label?.inputs.length ?? 0), 0),
      ),
  };
}

/** A scanned rig. */
export function scanSearch(rig: Rig, properties: readonly Property[], network: ProofNetwork): Search {
  const { time } = rig.controller;
  const model: ScanModel = {
    rig,
    network,
    properties,
    scopes: new Map(properties.map((p) => [p, scopeOf(rig, network, p)])),
    whole: wholeScope(network),
    scan: { lo: time.min, hi: time.max },
  };
  const system = scanSystem(model);
  const exploration = createExploration(system);
  const moments = (path: readonly Step<ScanState, ScanLabel>[]): Found =>
    scanWitness(path, model, null) ?? NOT_TOGETHER();
  const returning = (property: Switched): ReturnSystem<ScanState, ScanLabel> => ({
    *successors(state) {
      for (const step of system.successors(state)) yield step && 'later' in step ? null : step;
    },
    inside: () => true,
    allows: ({ inputs }) => inputs.every((on, k) => (property.switches.get(network.inputs[k]!.net) ?? on) === on),
    away: (state) => restingDoors(property, rig).some(lookAt(model, state).away),
    // The state does not say how the switches stand, the step does.
    mayLast: (state, leadsBack) => state.still && leadsBack,
    runningOn: () => [],
  });
  return {
    exploration,
    found: (name) => exploration.broken.get(name)?.length ?? 0,
    witness: (property, k) =>
      scanWitness(exploration.broken.get(property.name)![k]!, model, property) ?? NOT_TOGETHER(),
    returns: (property) =>
      returnQuestion(exploration, returning(property), moments, (path) => {
        const witness = moments(path);
        return typeof witness === 'string' ? 0 : witness.operations.length;
      }),
  };
}

function returnQuestion<S extends SymbolicState, L>(
  exploration: Exploration<S, L>,
  system: ReturnSystem<S, L>,
  moments: (path: readonly Step<S, L>[]) => Found,
  operations: (path: readonly Step<S, L>[]) => number,
): ReturnQuestion {
  const search = createReturnSearch(exploration, system);
  const toFound = ({ late, lasts, steps }: LateAway<S, L>): LateFound => {
    // The path to the late state, then the steps on from it: `before` counts the operations of the first part, after which one may wait.
    const prefix = exploration.path(late);
    return { witness: moments([...prefix, ...steps]), before: operations(prefix), lasts };
  };
  return { run: (turns) => search.run(turns), candidates: () => search.candidates().map(toFound) };
}
