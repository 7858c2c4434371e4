/**
 * Moments for a path of symbolic steps in which every response, preset and travel has one value for the whole run, as on a real
 * rig: a linear programme over the step times and those values, solved by the simplex method (package yalps). Of all
 * solutions it takes one in which events that did not happen are as far from happening as possible, so that rounding to whole
 * microseconds changes nothing.
 *
 * One value for each time couples steps that are far apart, so the constraints are no longer differences of two moments and longest paths
 * (`witness.ts`) do not do; a linear programme does. It is exact over the reals: where it has no solution, no constant times follow the path.
 */
import { solve } from 'yalps';
import type { Slots } from './discrete';
import type { ProofNetwork } from '../network';
import {
  earliestTime,
  operates,
  StartTimes,
  turnsApart,
  useOf,
  type Duration,
  type RigPath,
  type Use,
  type Witness,
} from '../witness';

/** Milliseconds keep the numbers of the programme near to one. */
const UNIT = 1000;
/** Exchanges after which the solver gives up, and entries of its table that it may change in all: nothing can end it from outside. */
const PIVOTS = 8192;
const WORK = 3e8;
/** Slack beyond this is not worth looking for. */
const ENOUGH = 1;

/** A linear programme being built, in the solver's terms; `uses`: what each variable but the step times stands for. */
interface Programme {
  readonly constraints: Map<string, { min?: number; max?: number; equal?: number }>;
  readonly variables: Map<string, Map<string, number>>;
  readonly uses: Map<string, Use>;
  /** The constraints written so far: of a thousand timers that run alike one is asked. */
  readonly written: Set<string>;
}

/** Null where no such moments exist: then the path needs times that differ from use to use. */
export function witnessWithConstants(path: RigPath, network: ProofNetwork, slots: Slots): Witness | null {
  // What comes at one moment is seen together: operations are kept apart from what the path has before and after them, where that can be.
  return solved(path, network, slots, 1) ?? solved(path, network, slots, 0);
}

/** `apart`: microseconds between an operation and the steps beside it, at least. */
function solved(path: RigPath, network: ProofNetwork, slots: Slots, apart: 0 | 1): Witness | null {
  const programme = build(path, network, slots, apart);
  const entries = (programme.constraints.size + 1) * (programme.variables.size + 1);
  const { status, variables } = solve(
    {
      direction: 'maximize',
      objective: 'slack',
      constraints: programme.constraints,
      variables: programme.variables,
    },
    { maxPivots: Math.min(PIVOTS, Math.ceil(WORK / entries)) },
  );
  if (status !== 'optimal') return null;
  const found = new Map(variables);
  // Rounding can break a constraint by a microsecond only where the slack is zero; the replay in the event engine decides in any case.
  const value = (name: string): number => Math.round((found.get(name) ?? 0) * UNIT);
  const times = path.map((_, k) => (k === 0 ? 0 : value(`t${k}`)));
  const durations: Duration[] = [...programme.uses].map(([name, { what, index, range }]) => ({
    what,
    index,
    time: Math.min(range.hi, Math.max(range.lo, value(name))),
  }));
  const operations = path.flatMap(({ label }, k) =>
    (label?.inputs ?? []).map(({ index, value }) => ({ t: times[k]!, input: index, value })),
  );
  return { from: 'power-on', operations, end: times[times.length - 1]!, times, durations };
}

/** Variables: the moment of each step, each time of the rig once, and the slack to be made greatest. */
function build(path: RigPath, network: ProofNetwork, slots: Slots, apart: 0 | 1): Programme {
  const programme: Programme = { constraints: new Map(), variables: new Map(), uses: new Map(), written: new Set() };
  const started = new StartTimes();
  addSlack(programme);
  path.forEach(({ label, state }, k) => {
    if (k > 0) {
      const before = path[k - 1]!.state;
      const term = (name: string, coefficient: number): Term => [name, coefficient];
      const earliest = earliestTime(label!, network);
      const least = operates(path, k) ? apart : 0;
      bound(programme, [term(`t${k}`, 1), term(`t${k - 1}`, -1)], { min: least / UNIT });
      if (earliest > 0) bound(programme, [term(`t${k}`, 1)], { min: earliest / UNIT });
      for (const slot of before.slots) {
        // A use fires exactly when its time is over (equal to zero difference); one that still runs has not come to it, with slack to spare.
        const fired = label!.fired.find((f) => f.slot === slot);
        const use = useOf(slot, before, network, slots);
        const elapsed = [term(`t${k}`, 1), term(`t${started.of(slot)}`, -1)];
        if (!use) {
          if (fired)
            bound(programme, elapsed, {
              min: fired.due.lo / UNIT,
              ...(fired.due.hi < Infinity ? { max: fired.due.hi / UNIT } : {}),
            });
          continue;
        }
        // Elapsed = share · time: a door that turned round half way has half its travel to go.
        const { terms, constant } = waitsFor(programme, use);
        if (fired) bound(programme, [...elapsed, ...terms], { equal: constant });
        else bound(programme, [...elapsed, ...terms, term('slack', 1)], { max: constant });
      }
    }
    started.advance(state, k);
  });
  for (const { before, after, least } of turnsApart(path, network)) {
    bound(
      programme,
      [
        [`t${after}`, 1],
        [`t${before}`, -1],
      ],
      { min: least / UNIT },
    );
  }
  addEnd(programme, path, network, slots, started);
  return programme;
}

/** At the last step, whatever still runs must go on running for a moment. */
function addEnd(programme: Programme, path: RigPath, network: ProofNetwork, slots: Slots, started: StartTimes): void {
  const last = path.length - 1;
  const { state } = path[last]!;
  for (const slot of state.slots) {
    const use = useOf(slot, state, network, slots);
    if (!use || started.of(slot) === last) continue;
    const { terms, constant } = waitsFor(programme, use);
    const elapsed: readonly Term[] = [
      [`t${last}`, 1],
      [`t${started.of(slot)}`, -1],
    ];
    bound(programme, [...elapsed, ...terms, ['slack', 1]], { max: constant });
  }
}

type Term = readonly [variable: string, coefficient: number];

function bound(
  programme: Programme,
  terms: readonly Term[],
  limits: { min?: number; max?: number; equal?: number },
): void {
  const words = JSON.stringify([terms, limits]);
  if (programme.written.has(words)) return;
  programme.written.add(words);
  const key = `c${programme.constraints.size}`;
  programme.constraints.set(key, limits);
  for (const [variable, coefficient] of terms) {
    // t0 is the constant zero: power-on.
    if (variable === 't0') continue;
    let column = programme.variables.get(variable);
    if (!column) programme.variables.set(variable, (column = new Map()));
    column.set(key, (column.get(key) ?? 0) + coefficient);
  }
}

/**
 * What an element waits for, as terms on the left of a constraint and a constant on its right: the variable of a response, preset or travel
 * within its tolerance, or a time that has none.
 */
function waitsFor(programme: Programme, use: Use): { readonly terms: readonly Term[]; readonly constant: number } {
  const { what, index, range, share } = use;
  const name = `${what}${index}`;
  const isNew = !programme.uses.has(name);
  if (isNew) programme.uses.set(name, use);
  if (range.lo === range.hi) return { terms: [], constant: (share * range.lo) / UNIT };
  if (isNew) bound(programme, [[name, 1]], { min: range.lo / UNIT, max: range.hi / UNIT });
  return { terms: [[name, -share]], constant: 0 };
}

function addSlack(programme: Programme): void {
  bound(programme, [['slack', 1]], { max: ENOUGH });
  programme.variables.get('slack')!.set('slack', 1);
}
