/**
 * `prove`: which properties hold for every moment at which inputs may change and every time within tolerance. A stepper: the
 * caller gives turns and keeps the budget. Verdicts: proved, refuted (with a counter-example that the event engine has
 * confirmed), or undecided with the reason; never a silent pass.
 */
import type { Rig } from '../model/rig';
import type { Trace } from '../timing/trace';
import { replay, replayLate, type Replay } from './confirm';
import { netsOf } from '../model/logic';
import { isVented, type Property } from './monitor';
import { networkTrouble, proofNetwork, type ProofInputState, type ProofNetwork } from './network';
import { partsOf, piecesOf, type Part, type Piece } from './parts';
import { scanSearch, zoneSearch, type ReturnQuestion, type Search } from './searches';
import type { Witness } from './witness';

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
  /** Computes at most about `turns` successors of states; true when every property is decided or nothing is left. */
  run(turns: number): boolean;
  /** Verdicts as far as they are known; undecided ones carry what was explored. */
  results(): ProofResult[];
  readonly network: ProofNetwork;
  readonly explored: number;
  readonly stored: number;
  /** Bytes of the zones stored. */
  readonly bytes: number;
}

/**
 * A proof of all properties. Each is asked of the part of the rig that it depends on, one search for all that depend on the same part; the
 * searches take turns, the smaller first, so that none starves another. Names of properties must differ.
 */
export function createProof(rig: Rig, properties: readonly Property[], start: ProofInputState): Proof {
  const pieces = piecesOf(rig, properties);
  const runs = partsOf(rig, pieces).map((part) => createRun(rig, part, start));
  const judgesOf = (k: number): Judge[] => runs.flatMap((run) => run.judges.filter((j) => j.of === k));
  const sum = (of: (run: Run) => number): number => runs.reduce((total, run) => total + of(run), 0);
  const network = proofNetwork(rig, start, watchedNets(properties));
  return {
    network,
    get explored() {
      return sum((run) => run.search.exploration.explored);
    },
    get stored() {
      return sum((run) => run.search.exploration.stored);
    },
    get bytes() {
      return sum((run) => run.search.exploration.entries * 8);
    },
    run(turns) {
      const open = runs.filter((run) => !run.done);
      const share = Math.max(1, Math.ceil(turns / Math.max(1, open.length)));
      let left = turns;
      for (const run of open) {
        if (left <= 0) break;
        // Those that had their turn go to the end.
        runs.push(...runs.splice(runs.indexOf(run), 1));
        left -= share;
        run.turn(share);
      }
      return runs.every((run) => run.done);
    },
    results: () => properties.map((property, k) => ({ property, verdict: joined(judgesOf(k)) })),
  };
}

/** The verdict of a property asked in pieces that must all hold. */
function joined(judges: readonly Judge[]): ProofVerdict {
  const verdicts = judges.map((judge) => judge.verdict());
  const worst = (state: ProofVerdict['state']): ProofVerdict | undefined => verdicts.find((v) => v.state === state);
  return worst('refuted') ?? worst('undecided') ?? { state: 'proved' };
}

/** One search and what is asked of it. */
interface Run {
  readonly search: Search;
  readonly judges: readonly Judge[];
  readonly done: boolean;
  turn(turns: number): void;
}

function createRun(rig: Rig, { cone, pieces }: Part, start: ProofInputState): Run {
  const properties = pieces.map(({ property }) => property);
  const network = proofNetwork(rig, start, watchedNets(properties), cone);
  const style = rig.controller.style === 'scan' ? scanSearch : zoneSearch;
  const search = style(rig, properties, network);
  const judges = pieces.map((piece) => createJudge(rig, piece, search, network));
  let done = false;
  return {
    search,
    judges,
    get done() {
      return done;
    },
    turn(turns) {
      const finished = search.exploration.run(turns);
      done = judges.map((judge) => judge.look(finished ? turns : 0)).every((decided) => decided);
    },
  };
}

interface Judge {
  /** Which of the properties asked it is a piece of. */
  readonly of: number;
  /** Looks at what was found since. `turns`: above zero once the search has ended. True where nothing is left to do. */
  look(turns: number): boolean;
  verdict(): ProofVerdict;
}

function createJudge(rig: Rig, { property, of }: Piece, search: Search, network: ProofNetwork): Judge {
  const trouble = networkTrouble(rig, network);
  let known: ProofVerdict | null = null;
  let doubt: string | null = null;
  let tried = 0;
  let question: ReturnQuestion | null = null;
  let ended = false;
  const take = (witness: Witness | string, confirm: (witness: Witness) => Replay): void => {
    if (typeof witness === 'string') doubt = witness;
    else {
      const outcome = confirm(witness);
      if (outcome.doubt !== null) doubt = outcome.doubt;
      else known = { state: 'refuted', witness: outcome.witness, trace: outcome.trace };
    }
  };
  const askReturn = (turns: number): boolean => {
    if (property.kind !== 'switched-off') return true;
    question ??= search.returns(property);
    if (!question.run(turns)) return false;
    for (const { witness, before, lasts } of question.candidates()) {
      if (known === null) take(witness, (w) => replayLate(rig, property, w, network, { before, lasts }));
    }
    return true;
  };
  return {
    of,
    look(turns) {
      if (trouble !== null) return true;
      for (; known === null && tried < search.found(property.name); tried++)
        take(search.witness(property, tried), (w) => replay(rig, property, w, network));
      if (known !== null || ended) return true;
      if (turns > 0) ended = search.exploration.trouble !== null || askReturn(turns);
      return ended;
    },
    verdict: () =>
      known ?? (trouble === null ? remaining(search, ended, doubt) : { state: 'undecided', reason: trouble }),
  };
}

function remaining({ exploration }: Search, ended: boolean, doubt: string | null): ProofVerdict {
  if (exploration.trouble !== null) return { state: 'undecided', reason: exploration.trouble };
  if (doubt !== null) return { state: 'undecided', reason: doubt };
  if (ended) return { state: 'proved' };
  return { state: 'undecided', reason: `the budget ran out after ${exploration.explored} symbolic states` };
}

/** Nets that conditions and vents look at: their inputs must not be moved behind a response. */
function watchedNets(properties: readonly Property[]): Set<number> {
  return new Set(
    properties.flatMap((p) => {
      if (p.kind === 'never') return netsOf(p.condition);
      return isVented(p) ? p.vents.map((vent) => vent.net) : [];
    }),
  );
}
