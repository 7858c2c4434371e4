/**
 * Networks of timed automata (R. Alur and D. L. Dill, "A theory of timed automata", 1994) with integer variables and
 * pairwise handshakes, as a `ZoneSystem`. The rig has its own translation; this one serves models written by hand, such as
 * the published examples that the engine is checked against.
 */
import {
  atLeast,
  atMost,
  copyZone,
  emptyClocks,
  extrapolate,
  forget,
  remapClocks,
  up,
  type Zone,
} from '../../server/core/proof/zone/dbm';
import type { Successor, SymbolicState, ZoneSystem } from '../../server/core/proof/explore';

/** Bound on one clock; strict bounds are whole units tighter (see dbm.ts). */
export interface ClockBound {
  readonly clock: number;
  readonly relation: '<' | '<=' | '>' | '>=' | '=';
  readonly value: number;
}

export interface AutomatonEdge {
  readonly from: string;
  readonly to: string;
  readonly guard?: readonly ClockBound[];
  readonly when?: (variables: readonly number[]) => boolean;
  readonly set?: (variables: number[]) => void;
  readonly reset?: readonly number[];
  /** `name!` and `name?` edges of two automata are taken together. */
  readonly sync?: string;
  readonly label: string;
}

export interface Automaton {
  readonly initial: string;
  readonly invariants?: Readonly<Record<string, readonly ClockBound[]>>;
  /** Locations in which no time may pass. */
  readonly urgent?: readonly string[];
  readonly edges: readonly AutomatonEdge[];
}

export interface AutomataModel {
  readonly clocks: number;
  readonly variables: readonly number[];
  readonly automata: readonly Automaton[];
  /** Greatest constant each clock is compared with (index 0 unused). */
  readonly max: readonly number[];
  /** Properties: name → true where the locations and variables break it. */
  readonly bad: Readonly<Record<string, (locations: readonly string[], variables: readonly number[]) => boolean>>;
}

export interface AutomataState extends SymbolicState {
  readonly locations: readonly string[];
  readonly variables: readonly number[];
}

/** The model with, for each automaton and location, the clocks that may still be compared before they start again. */
interface Prepared extends AutomataModel {
  readonly live: readonly ReadonlyMap<string, ReadonlySet<number>>[];
}

/** Clocks are numbered from 1. */
export function automataSystem(raw: AutomataModel): ZoneSystem<AutomataState, string> {
  const model: Prepared = { ...raw, live: raw.automata.map(liveClocks) };
  return {
    initial: () => {
      const zone = remapClocks(emptyClocks(), [0, ...Array<number>(model.clocks).fill(-1)]);
      const state = settle(
        model,
        model.automata.map((a) => a.initial),
        [...model.variables],
        zone,
      );
      return state ? [{ label: null, state }] : [];
    },
    successors: (state) => successors(model, state),
    bytes: (state) => state.key.length + state.zone.d.length * 8,
    broken: (state) =>
      Object.entries(model.bad)
        .filter(([, breaks]) => breaks(state.locations, state.variables))
        .map(([name]) => name),
  };
}

function liveClocks(automaton: Automaton): Map<string, Set<number>> {
  const live = new Map<string, Set<number>>();
  const at = (location: string): Set<number> => {
    let clocks = live.get(location);
    if (!clocks) live.set(location, (clocks = new Set(automaton.invariants?.[location]?.map((b) => b.clock))));
    return clocks;
  };
  for (const location of Object.keys(automaton.invariants ?? {})) at(location);
  for (let changed = true; changed;) {
    changed = false;
    for (const edge of automaton.edges) {
      const clocks = at(edge.from);
      const before = clocks.size;
      for (const bound of edge.guard ?? []) clocks.add(bound.clock);
      for (const clock of at(edge.to)) if (!edge.reset?.includes(clock)) clocks.add(clock);
      changed ||= clocks.size > before;
    }
  }
  return live;
}

function successors(model: Prepared, state: AutomataState): Successor<AutomataState, string>[] {
  const found: Successor<AutomataState, string>[] = [];
  const take = (edges: readonly { automaton: number; edge: AutomatonEdge }[]): void => {
    const next = fire(model, state, edges);
    if (next) found.push({ label: edges.map((e) => e.edge.label).join(' / '), state: next });
  };
  model.automata.forEach((automaton, a) => {
    for (const edge of automaton.edges) {
      if (edge.from !== state.locations[a] || !(edge.when?.(state.variables) ?? true)) continue;
      if (edge.sync === undefined) take([{ automaton: a, edge }]);
      else if (edge.sync.endsWith('!'))
        for (const partner of partners(model, state, a, edge.sync)) take([{ automaton: a, edge }, partner]);
    }
  });
  return found;
}

function partners(
  model: AutomataModel,
  state: AutomataState,
  sender: number,
  sync: string,
): { automaton: number; edge: AutomatonEdge }[] {
  const wanted = sync.slice(0, -1) + '?';
  return model.automata.flatMap((automaton, a) =>
    a === sender
      ? []
      : automaton.edges
          .filter(
            (edge) =>
              edge.sync === wanted && edge.from === state.locations[a] && (edge.when?.(state.variables) ?? true),
          )
          .map((edge) => ({ automaton: a, edge })),
  );
}

function fire(
  model: Prepared,
  state: AutomataState,
  edges: readonly { automaton: number; edge: AutomatonEdge }[],
): AutomataState | null {
  const zone = copyZone(state.zone);
  for (const { edge } of edges) if (!(edge.guard ?? []).every((bound) => apply(zone, bound))) return null;
  const locations = [...state.locations];
  const variables = [...state.variables];
  const from = Array.from({ length: zone.n }, (_, k) => k);
  for (const { automaton, edge } of edges) {
    locations[automaton] = edge.to;
    edge.set?.(variables);
    for (const clock of edge.reset ?? []) from[clock] = -1;
  }
  return settle(model, locations, variables, remapClocks(zone, from));
}

/** Applies invariants, lets time pass unless a location is urgent, and bounds the zone. */
function settle(model: Prepared, locations: string[], variables: number[], zone: Zone): AutomataState | null {
  const invariants = model.automata.flatMap((a, k) => a.invariants?.[locations[k]!] ?? []);
  if (!invariants.every((bound) => apply(zone, bound))) return null;
  if (!model.automata.some((a, k) => a.urgent?.includes(locations[k]!))) {
    up(zone);
    invariants.forEach((bound) => apply(zone, bound));
  }
  // A clock that starts again before it is next compared tells nothing: forgetting it merges states (active-clock reduction).
  for (let clock = 1; clock <= model.clocks; clock++) {
    if (!model.live.some((live, k) => live.get(locations[k]!)?.has(clock))) forget(zone, clock);
  }
  extrapolate(zone, model.max, model.max);
  return { key: `${locations.join(' ')}|${variables.join(' ')}`, zone, locations, variables };
}

function apply(zone: Zone, { clock, relation, value }: ClockBound): boolean {
  switch (relation) {
    case '<':
      return atMost(zone, clock, value - 1);
    case '<=':
      return atMost(zone, clock, value);
    case '>':
      return atLeast(zone, clock, value + 1);
    case '>=':
      return atLeast(zone, clock, value);
    case '=':
      return atMost(zone, clock, value) && atLeast(zone, clock, value);
  }
}
