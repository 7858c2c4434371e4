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
import { proofNetwork, type ProofInputState, type ProofNetwork } from './network';
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

/** A proof of all properties at once: one search of the states serves them all. Names of properties must differ. */
export function createProof(rig: Rig, properties: readonly Property[], start: ProofInputState): Proof {
  const network = proofNetwork(rig, start, watchedNets(properties));
  const style = rig.controller.style === 'scan' ? scanSearch : zoneSearch;
  const search = style(rig, properties, network);
  const { exploration } = search;
  const judges = properties.map((property) => createJudge(rig, property, search, network));
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
      const finished = exploration.run(turns);
      return judges.map((judge) => judge.look(finished ? turns : 0)).every((done) => done);
    },
    results: () => properties.map((property, k) => ({ property, verdict: judges[k]!.verdict() })),
  };
}

interface Judge {
  /** Looks at what was found since. `turns`: above zero once the search has ended. True where nothing is left to do. */
  look(turns: number): boolean;
  verdict(): ProofVerdict;
}

function createJudge(rig: Rig, property: Property, search: Search, network: ProofNetwork): Judge {
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
    look(turns) {
      for (; known === null && tried < search.found(property.name); tried++)
        take(search.witness(property, tried), (w) => replay(rig, property, w, network));
      if (known !== null || ended) return true;
      if (turns > 0) ended = search.exploration.trouble !== null || askReturn(turns);
      return ended;
    },
    verdict: () => known ?? remaining(search, ended, doubt),
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
