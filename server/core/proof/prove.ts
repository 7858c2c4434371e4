/**
 * `prove`: which properties hold for every moment at which inputs may change and every time within tolerance. A stepper: the
 * caller gives turns and keeps the budget. Verdicts: proved, refuted (with a counter-example that the event engine has
 * confirmed), or undecided with the reason; never a silent pass.
 *
 * Why a verdict can be trusted: "proved" comes only from a search that ended (nothing left to explore) of a network that can do at least what
 * the rig can; "refuted" only from a run of the event engine. Everything between the two is undecided. Each looser network (loosened, cut)
 * adds runs, so a proof in any of them counts, and what looks broken in it is tried on the rig and not believed.
 *
 * The order of work is by cost: what the network settles by itself, then the loosened search, then, side by side, the exact one and the cut
 * ones. Turns are dealt out evenly, so that a property which is easy in any of them is decided early whatever the others cost.
 */
import type { Rig } from '../model/rig';
import type { Trace } from '../timing/trace';
import { netsOf } from '../model/logic';
import type { Spent } from './budget';
import type { Cone } from './cone';

import { cutCones } from './cuts';
import type { Joins } from './explore';
import { createJudge, type Judge } from './judge';
import { isVented, type Property } from './monitor';
import { FINE, proofNetwork, loosened } from './network';
import type { Grain, ProofInputState, ProofNetwork, Watched } from './network';
import { pooled } from './pools';
import { partsOf, piecesOf, restsBySettling, type Part, type Piece } from './parts';
import { instantLoops, loopReason, type InstantLoop } from './settling';
import { scanSearch, zoneSearch, type Search } from './searches';
import { because, guarded, isDoubtful, joined } from './verdicts';
import type { Work } from '../work/work';
import type { Witness } from './witness';
import { say } from '../words/say';

export type ProofVerdict =
  | { readonly state: 'proved' }
  | {
      readonly state: 'refuted';
      /** `drifting`: only with times that differ from use to use, each within its tolerance, was a run found. */
      readonly times: 'steady' | 'drifting';
      readonly witness: Witness;
      /** The replay in the event engine, from power-on. */
      readonly trace: Trace;
    }
  | {
      readonly state: 'undecided';
      readonly reason: string;
      /** Symbolic states after which a budget ended the search; absent where the reason is another. */
      readonly after?: number;
    };

export interface ProofResult {
  readonly property: Property;
  readonly verdict: ProofVerdict;
}

/** A proof under way. */
export interface Proof {
  /** Computes at most about `turns` successors of states; true when every property is decided or nothing is left. */
  run(turns: number): boolean;
  /** Verdicts as far as they are known; undecided ones carry what was explored. */
  results(): ProofResult[];
  /** Says which budget ended the proof, for the reason of what is undecided. */
  giveUp(spent: Spent): void;
  readonly network: ProofNetwork;
  readonly explored: number;
  readonly stored: number;
  /** Memory of the states kept, computed from their parts. */
  readonly bytes: number;
}

/**
 * A proof of all properties. Each is asked of the part of the rig that it depends on, one search for all that depend on the same part; the
 * searches take turns, the smaller first, so that none starves another. Names of properties must differ.
 */
export function createProof(rig: Rig, properties: readonly Property[], start: ProofInputState): Proof {
  const preparation = preparing(rig, properties, start);
  let runs: Run[] | null = null;
  let loops: readonly InstantLoop[] = [];
  const verdictOf = (k: number): ProofVerdict => joined(runs!.flatMap((run) => run.verdicts(k)));
  const unsettled = (): ProofVerdict | null => {
    const open = loops
      .map((loop, k) => ({ loop, verdict: verdictOf(guardIndex(k)) }))
      .filter((g) => g.verdict.state !== 'proved');
    const met = open.find(({ verdict }) => verdict.state === 'undecided' && verdict.after === undefined);
    return met ? { state: 'undecided', reason: loopReason(rig, met.loop) } : (open[0]?.verdict ?? null);
  };
  const sum = (of: (search: Search['exploration']) => number): number =>
    (runs ?? []).reduce(
      (total, { searches }) => searches.reduce((part, { exploration }) => part + of(exploration), total),
      0,
    );
  let network: ProofNetwork | null = null;
  let spent: Spent | null = null;
  let deal: Work<void> | null = null;
  return {
    get network() {
      // Of the whole rig: for callers that print operations by input; each run has a network of its own cone.
      return (network ??= proofNetwork(rig, start, watchedBy(properties)));
    },
    giveUp: (by) => (spent = by),
    get explored() {
      return sum(({ explored }) => explored);
    },
    get stored() {
      return sum(({ stored }) => stored);
    },
    get bytes() {
      return sum(({ bytes }) => bytes);
    },
    run(turns) {
      let left = turns;
      for (; runs === null && left > 0; left--) {
        const step = preparation.next();
        if (step.done) ({ runs, loops } = step.value);
      }
      if (runs === null || left <= 0) return false;
      // What takes long within a turn (a replay in the event engine, say) is left there when the turns are used up, and gone on with.
      deal ??= dealOut(runs, left);
      for (; deal.next().done !== true; left--) if (left <= 1) return false;
      deal = null;
      return runs.every((run) => run.done);
    },
    results: () => {
      if (runs === null) return properties.map((property) => ({ property, verdict: because(spent, unbegun()) }));
      const guard = unsettled();
      return properties.map((property, k) => ({ property, verdict: because(spent, guarded(verdictOf(k), guard)) }));
    },
  };
}

/** What is searched, and the loops without response that are asked for beside the properties. */
interface Prepared {
  readonly runs: Run[];
  readonly loops: readonly InstantLoop[];
}

/** The searches to be made, in steps. What the network settles by itself needs none. */
function* preparing(rig: Rig, properties: readonly Property[], start: ProofInputState): Work<Prepared> {
  const asked: Piece[] = [];
  for (const piece of piecesOf(rig, properties)) {
    if (!restsBySettling(rig, piece.property)) asked.push(piece);
    yield;
  }
  // Asked beside them, with indices below those of the questions: whether every moment settles, without which nothing is proved.
  const loops = properties.length === 0 ? [] : instantLoops(rig);
  const guards = loops.map(({ question }, k) => ({ property: question, of: guardIndex(k) }));
  const runs: Run[] = [];
  for (const part of partsOf(rig, [...asked, ...guards])) {
    yield;
    runs.push(yield* createRun(rig, part, start));
  }
  return { runs, loops };
}

/** Gives each open run its share of the turns; changes the order of `runs`. */
function* dealOut(runs: Run[], turns: number): Work<void> {
  const open = runs.filter((run) => !run.done);
  const share = Math.max(1, Math.ceil(turns / Math.max(1, open.length)));
  let left = turns;
  for (const run of open) {
    if (left <= 0) break;
    // Those that had their turn go to the end.
    runs.push(...runs.splice(runs.indexOf(run), 1));
    left -= share;
    yield* run.turn(share);
  }
}

const unbegun = (): ProofVerdict => ({ state: 'undecided', reason: say`the search has not begun`, after: -1 });

/** Index by which the k-th loop without response is asked for. */
const guardIndex = (k: number): number => -1 - k;

/** The questions about one part of the rig, in one search or several one after the other. */
interface Run {
  readonly searches: readonly Search[];
  /** Verdicts of the pieces of the k-th property asked. */
  verdicts(k: number): readonly ProofVerdict[];
  readonly done: boolean;
  turn(turns: number): Work<void>;
}

/** One search with its judges. */
interface Stage {
  readonly search: Search;
  readonly judges: readonly Judge[];
  /** Proved, or refuted by times that do not drift: nothing more can come of it. */
  hasSettled(piece: Piece): boolean;
  /** Whether what it leaves undecided says something about the rig: not where parts of the network were cut off. */
  readonly isWhole: boolean;
  /** True where every judge is done, or (`patience`) has met that many paths which do not count. */
  turn(turns: number, patience: number): Work<boolean>;
}

/** Paths that break a property in the loosened network but do not count, after which it is asked again of the rig as it is. */
const PATIENCE = 3;
/** States of a search of the loosened network after which the one of the rig as it is takes turns with it, and of that one after which a finer one does. */
const ENOUGH = 3_000;
/** States after which a search of the network to the microsecond is given up. */
const MOST_FINE = 6_000;
/** States after which searches that allow more, with states joined and cut at some signals (cuts.ts), take turns with the others. */
const LARGE = 400;

/**
 * Least on and off times of inputs, and the positions of doors that turn round, cost many states and matter to few properties. So the first
 * search does without them: the rig may then do more, and what is proved holds. Paths it finds count where their moments keep the least times
 * and the event engine breaks the property. Only where none does is the property asked again of the rig as it is. Where the first search grows
 * large, others that leave out more take turns with it: what one of them proves or refutes is decided.
 */
function* createRun(rig: Rig, part: Part, start: ProofInputState): Work<Run> {
  const watched = watchedBy(part.pieces.map(({ property }) => property));
  const networkOf = (cone: Cone, grain?: Grain): ProofNetwork => proofNetwork(rig, start, watched, cone, grain);
  const strict = networkOf(part.cone);
  const network = pooled(strict, strict, watched.nets);
  const isScanned = rig.controller.style === 'scan';
  const free = isScanned ? network : pooled(loosened(strict), strict, watched.nets);
  yield;
  const firstNetworks: Networks = { network, explored: free, isWhole: true };
  const first = createStage(rig, part.pieces, firstNetworks);
  const stages = [first];
  let open = stages.slice();
  let again: Stage | 'asked' | null = free === network ? 'asked' : null;
  // Scanned states are explicit: there is nothing to loosen, and a cut net would double the states of every scan.
  const askLooser = isScanned ? null : looserSearches(firstNetworks, cutCones(rig, part), networkOf, watched);
  let fine: Stage | 'asked' | null = null;
  const decided = (piece: Piece): ProofVerdict => verdictIn(stages, piece);
  const undecided = (): readonly Piece[] => part.pieces.filter((piece) => decided(piece).state === 'undecided');
  const add = (networks: Networks): Stage => {
    const stage = createStage(rig, undecided(), networks);
    stages.push(stage);
    open.push(stage);
    return stage;
  };
  const askAgain = (): void => {
    if (again !== null || (open.includes(first) && first.search.exploration.explored < ENOUGH)) return;
    // Once: `again` is null until the exact network has been asked, or found not to be needed.
    again = undecided().length > 0 ? add({ network, explored: network, isWhole: true }) : 'asked';
  };
  // Finer than the rest, and no longer than it is likely to help. What it leaves open has the reason found before.
  const askFine = (): void => {
    open = open.filter((stage) => stage !== fine || stage.search.exploration.explored < MOST_FINE);
    const left = undecided().map(decided);
    if (isScanned || fine !== null || !isTimeForFine(open, again === 'asked' ? first : again, left)) return;
    const finer = left.some(isDoubtful) ? networkOf(part.cone, FINE) : null;
    fine = finer === null ? 'asked' : add({ network: finer, explored: finer, isWhole: false });
  };
  // Doubtful paths are worth little in a loose network: there another search will do better. In the last exact one all are tried.
  const patienceOf = (stage: Stage): number =>
    stage === fine ? Infinity : !stage.isWhole ? 1 : again === null ? PATIENCE : Infinity;
  return {
    get searches() {
      return stages.map(({ search }) => search);
    },
    verdicts: (k) => part.pieces.filter(({ of }) => of === k).map(decided),
    get done() {
      return open.length === 0;
    },
    *turn(turns) {
      open = yield* stillOpen(open, turns, patienceOf);
      askAgain();
      if (first.search.exploration.explored >= LARGE) askLooser?.(open, add);
      askFine();
      // Nothing more can come of any stage: those still searching are dropped.
      if (part.pieces.every((piece) => stages.some((stage) => stage.hasSettled(piece)))) open = [];
    },
  };
}

/**
 * Searches that allow more than the first one: with states joined that differ in the order of events alone, where many come in any order; and so of networks
 * cut at some signals, one at a time: the next, cut further back, when one has left something open.
 */
function looserSearches(
  first: Networks,
  cones: Iterator<Cone | null>,
  networkOf: (cone: Cone) => ProofNetwork,
  watched: Watched,
): (open: readonly Stage[], add: (networks: Networks) => Stage) => void {
  let joined: Stage | null = null;
  let cut: Stage | null = null;
  return (open, add) => {
    if (open.length === 0) return;
    joined ??= add({ ...first, isWhole: false, joins: 'always' });
    if (cut !== null && open.includes(cut)) return;
    const next = cones.next();
    if (!next.value) return; // Not found yet, or nothing left to cut.
    const network = networkOf(next.value);
    const explored = pooled(loosened(network), network, watched.nets);
    cut = add({ network, explored, isWhole: false, joins: 'always' });
  };
}

/** After all others, or beside an exact search (null: not asked for yet) that has grown large and left only doubts: it seldom ends. */
function isTimeForFine(open: readonly Stage[], exact: Stage | null, undecided: readonly ProofVerdict[]): boolean {
  if (open.length === 0 || exact === null) return open.length === 0;
  return exact.search.exploration.explored >= ENOUGH && undecided.every(isDoubtful);
}

/** Gives each stage its share of the turns; those that are not over. */
function* stillOpen(stages: readonly Stage[], turns: number, patienceOf: (stage: Stage) => number): Work<Stage[]> {
  const share = Math.max(1, Math.ceil(turns / stages.length));
  const open: Stage[] = [];
  for (const stage of stages) if (!(yield* stage.turn(share, patienceOf(stage)))) open.push(stage);
  return open;
}

/** The verdict of the first search that decides a piece; else why the last search of the whole network does not. */
function verdictIn(stages: readonly Stage[], piece: Piece): ProofVerdict {
  let last: ProofVerdict | null = null;
  for (const { judges, isWhole } of stages) {
    const verdict = judges.find((judge) => judge.piece === piece)?.verdict();
    if (verdict === undefined) continue;
    if (verdict.state !== 'undecided') return verdict;
    if (isWhole) last = verdict;
  }
  return last!;
}

/** The network to be searched is `explored`; `network` does a part of what it does, and gives the moments. */
interface Networks {
  readonly network: ProofNetwork;
  readonly explored: ProofNetwork;
  readonly isWhole: boolean;
  readonly joins?: Joins;
}

/** A search in the rig's style, with a judge for each piece. */
function createStage(rig: Rig, pieces: readonly Piece[], { network, explored, isWhole, joins }: Networks): Stage {
  const properties = pieces.map(({ property }) => property);
  const search =
    rig.controller.style === 'scan'
      ? scanSearch(rig, properties, network)
      : zoneSearch(rig, properties, network, explored, joins);
  const judges = pieces.map((piece) => createJudge(rig, piece, search, network));
  return {
    search,
    judges,
    isWhole,
    hasSettled: (piece) => judges.some((judge) => judge.piece === piece && judge.hasSettled()),
    *turn(turns, patience) {
      const finished = search.exploration.run(turns);
      let over = true;
      for (const judge of judges) if (!(yield* judge.look(finished ? turns : 0, patience))) over = false;
      return over;
    },
  };
}

/** Nets that conditions and vents look at: their inputs must not be moved behind a response; and doors whose order is asked for. */
export function watchedBy(properties: readonly Property[]): Watched {
  const nets = properties.flatMap((p) => {
    if (p.kind === 'never') return netsOf(p.condition);
    return isVented(p) ? p.vents.map((vent) => vent.net) : [];
  });
  const ordered = properties.flatMap((p) => (p.kind === 'order' ? p.events.map(({ door }) => door) : []));
  return { nets: new Set(nets), ordered: new Set(ordered) };
}
