/**
 * From what a search finds about one question to a verdict: each path that breaks it is replayed in the event engine, shortest first, until one
 * counts. Replays take long in large rigs, so that they are work in steps.
 */
import type { Rig } from '../model/rig';
import type { Work } from '../work/work';
import { replay, replayLate, type Replay } from './confirm';
import { replayDrifting } from './drift';
import { networkTrouble, type ProofNetwork } from './network';
import type { Piece } from './parts';
import type { ProofVerdict } from './prove';
import type { ReturnQuestion, Search } from './searches';
import { ranOut } from './verdicts';
import type { Witness } from './witness';
import { say } from '../words/say';

/** Turns what a search finds about one piece into a verdict. */
export interface Judge {
  readonly piece: Piece;
  /** Looks at what was found since. `turns`: above zero once the search has ended. True where nothing is left to do, or `patience` is at an end. */
  look(turns: number, patience: number): Work<boolean>;
  verdict(): ProofVerdict;
  hasSettled(): boolean;
}

export function createJudge(rig: Rig, piece: Piece, search: Search, network: ProofNetwork): Judge {
  const { property } = piece;
  const trouble = networkTrouble(rig, network);
  let known: ProofVerdict | null = null;
  let drifting: ProofVerdict | null = null;
  let doubt: string | null = null;
  let tried = 0;
  let question: ReturnQuestion | null = null;
  let ended = false;
  function* take(witness: Witness | string, confirm: (witness: Witness) => Work<Replay>): Work<void> {
    yield;
    if (typeof witness === 'string') doubt = witness;
    else {
      const outcome = yield* confirm(witness);
      if (outcome.doubt === null)
        known = { state: 'refuted', times: 'steady', witness: outcome.witness, trace: outcome.trace };
      else {
        doubt = outcome.doubt;
        // Kept in reserve: a later path may still break it with times that stay.
        const run = drifting === null ? yield* replayDrifting(rig, property, witness, network) : null;
        if (run !== null) drifting = { state: 'refuted', times: 'drifting', ...run };
      }
    }
  }
  function* askReturn(turns: number): Work<boolean> {
    if (property.kind !== 'switched-off') return true;
    question ??= search.returns(property);
    if (!question.run(turns)) return false;
    for (const { witness, before, lasts } of question.candidates()) {
      if (known === null) yield* take(witness, (w) => replayLate(rig, property, w, network, { before, lasts }));
    }
    return true;
  }
  const verdict = (): ProofVerdict =>
    known ?? drifting ?? (trouble === null ? remaining(search, ended, doubt) : { state: 'undecided', reason: trouble });
  return {
    piece,
    *look(turns, patience) {
      if (trouble !== null) return true;
      // Candidates shortest first; each is replayed once, and a later one only if all before it were doubtful.
      for (; known === null && tried < Math.min(patience, search.found(property.name)); tried++)
        yield* take(search.witness(property, tried), (w) => replay(rig, property, w, network));
      if (known !== null || ended || (doubt !== null && tried >= patience)) return true;
      // "Comes to rest" is asked of the finished graph: only when the search has ended is there one.
      if (turns > 0) ended = search.exploration.trouble !== null || (yield* askReturn(turns));
      return ended;
    },
    verdict,
    hasSettled: () => known !== null || (ended && verdict().state === 'proved'),
  };
}

/** The verdict where nothing was refuted. */
function remaining({ exploration }: Search, ended: boolean, doubt: string | null): ProofVerdict {
  if (exploration.trouble !== null) return { state: 'undecided', reason: exploration.trouble };
  // A path was found that nobody could follow: the search may have ended, but "proved" would deny the path.
  if (doubt !== null) return { state: 'undecided', reason: doubt };
  if (ended) return { state: 'proved' };
  const after = exploration.explored;
  return { state: 'undecided', reason: ranOut(say`the budget`, after), after };
}
