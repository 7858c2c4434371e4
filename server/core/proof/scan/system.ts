/**
 * A rig in scan style as a transition system: one step is one scan. Inputs may have any value at every scan (or change no sooner
 * than their least on and off times), a timer or a moving door is done once its scans must or may have lasted long enough.
 * There are no clocks: elapsed scans are counted, so the states are explicit.
 *
 * Why no zones: between two scans nothing is decided, and at a scan every timer sees a multiple of the scan time. An explicit state with
 * counts is exact where times are, and simpler to trust. The price is one state for each count: a preset of 10 s at scans of 10 ms has a
 * thousand, which the budget allows; zones would need one, but scans would need a clock of their own and tie all others to it.
 */
import { emptyClocks } from '../zone/dbm';
import type { Step, Successor, ZoneSystem } from '../explore';
import type { Property } from '../monitor';
import { scanElement } from './blocks';
import { arrivingDoors, driveDoors, ordersOf } from './doors';
import {
  copyDraft,
  draftFrom,
  firstDraft,
  longHeld,
  mayChange,
  type ScanDraft,
  type ScanLabel,
  type ScanModel,
  type ScanState,
} from './state';
import { firstMarks, inputsThatBreak, isStill, lookAt, watchArrivals, watchScan } from './watch';
import type { Operation, Witness } from '../witness';

/** The rig as a system to be explored. */
export function scanSystem(model: ScanModel): ZoneSystem<ScanState, ScanLabel> {
  const start = model.network.inputs.map((i) => i.initial);
  return {
    initial: () =>
      scan(model, null, [firstDraft(model, firstMarks(model))], start).map((state) => ({ label: null, state })),
    *successors(state): Generator<Successor<ScanState, ScanLabel>> {
      // What happens between scans does not depend on what the inputs do meanwhile: computed once for all choices of them.
      const arrived = betweenScans(model, state);
      for (const inputs of inputChoices(model, state)) {
        for (const next of scan(model, state, arrived, inputs)) yield { label: { inputs }, state: next };
      }
    },
    broken: (state) => state.flags,
    bytes: bytesOf,
  };
}

/** Objects and arrays of a state, and a door with its two ranges, in bytes: estimates, not measured. */
const OF_STATE = 2_800;
const OF_DOOR = 200;

function bytesOf({ key, doors, nets, outputs, seen, counts, held, marks }: ScanState): number {
  return (
    OF_STATE +
    key.length +
    doors.length * OF_DOOR +
    nets.length +
    outputs.length +
    seen.length +
    counts.length * 4 +
    (held.length + marks.length) * 8
  );
}

/** Every combination of input values that the least on and off times allow at the next scan. */
function* inputChoices(model: ScanModel, state: ScanState): Generator<boolean[]> {
  const { inputs } = model.network;
  const values = inputs.map(({ net }) => state.nets[net] === 1);
  const turning = inputs.flatMap((input, k) => {
    const least = values[k] ? input.minOn : input.minOff;
    return !input.frozen && mayChange(model, least, state.held[k]!) ? [k] : [];
  });
  // All subsets of the inputs that may turn, the values as they are first: the search meets paths with few operations early.
  function* from(at: number): Generator<boolean[]> {
    const k = turning[at];
    if (k === undefined) {
      yield [...values];
      return;
    }
    const turn = (): void => inputs[k]!.together.forEach((index) => (values[index] = !values[index]));
    yield* from(at + 1);
    turn();
    yield* from(at + 1);
    turn();
  }
  yield* from(0);
}

/** What may have happened by the moment of the next scan, before it reads anything. */
function betweenScans(model: ScanModel, state: ScanState): ScanDraft[] {
  return arrivingDoors(model, draftFrom(state)).flatMap(({ draft, arrivals }) =>
    ordersOf(arrivals).map((order) => {
      const next = copyDraft(draft);
      watchArrivals(model, next, order);
      return next;
    }),
  );
}

/** All states that one scan may lead to: timers within tolerance may be done or not. */
function scan(
  model: ScanModel,
  before: ScanState | null,
  arrived: readonly ScanDraft[],
  inputs: readonly boolean[],
): ScanState[] {
  // Copies: what arrived is shared by all choices of inputs.
  let drafts = arrived.map(copyDraft);
  for (const draft of drafts) readInputs(model, draft, inputs);
  model.network.elements.forEach((element, e) => {
    // In written order on one set of nets: an element sees what those above it gave in this scan, and what those below gave in the last.
    drafts = drafts.flatMap((draft) => scanElement(model, draft, element, e));
  });
  return drafts.map((draft) => {
    const events = driveDoors(model, draft);
    const nets = before?.nets ?? null;
    watchScan(model, draft, events, nets);
    return stateOf(model, draft, isStill(model, nets, draft, model.whole));
  });
}

function readInputs(model: ScanModel, draft: ScanDraft, inputs: readonly boolean[]): void {
  model.network.inputs.forEach((input, k) => {
    const value = inputs[k] ? 1 : 0;
    const changed = draft.nets[input.net] !== value;
    draft.held[k] = changed ? 0 : Math.min(draft.held[k]! + 1, longHeld(model, input));
    draft.nets[input.net] = value;
  });
}

function stateOf(model: ScanModel, draft: ScanDraft, still: boolean): ScanState {
  const doors = draft.doors.map(({ open, moving, scans, due, from }) =>
    moving ? `${open ? 'O' : 'S'}${scans}/${due.lo}/${due.hi}/${from.lo}/${from.hi}` : open ? 'o' : 's',
  );
  // Inputs that may change at any scan say nothing about what follows.
  const lasting = draft.nets.slice();
  for (const input of model.network.inputs) if (input.minOn === 0 && input.minOff === 0) lasting[input.net] = 0;
  const flags = [...draft.flags].sort();
  const key = [lasting, draft.outputs, draft.seen, draft.counts, draft.held, draft.marks]
    .map((a) => a.join(','))
    .concat(doors, flags, still ? 'still' : '')
    .join('|');
  return { ...draft, key, zone: emptyClocks(), flags, still };
}

export type ScanPath = readonly Step<ScanState, ScanLabel>[];

/**
 * Moments of a path: scan k is at k scan times after power-on, every time nominal. An operation comes as soon as the least times
 * allow after the scan before it is seen; null where that is too late.
 */
export function scanWitness(path: ScanPath, model: ScanModel, property: Property | null): Witness | null {
  const period = model.rig.controller.time.nominal;
  const operations: Operation[] = [];
  for (let i = 0; i < model.network.inputs.length; i++) {
    const own = operationsOf(path, model, i, period);
    if (!own) return null;
    operations.push(...own);
  }
  operations.sort((a, b) => a.t - b.t);
  const end = (path.length - 1) * period;
  const last = property?.kind === 'never' ? lastOperations(path, model, property, end + 1) : [];
  const times = path.map((_, k) => k * period);
  return {
    from: 'power-on',
    operations: [...operations, ...last],
    end: end + Math.min(1, last.length),
    times,
    durations: [],
  };
}

function operationsOf(path: ScanPath, { network }: ScanModel, i: number, period: number): Operation[] | null {
  const { net, minOn, minOff } = network.inputs[i]!;
  const free = minOn === 0 && minOff === 0;
  const found: Operation[] = [];
  for (let k = 1; k < path.length; k++) {
    const value = path[k]!.state.nets[net] === 1;
    if (value === (path[k - 1]!.state.nets[net] === 1)) continue;
    const before = found[found.length - 1];
    const least = value ? minOff : minOn;
    // Seen at scan k, so it turned after scan k − 1, at k at the latest. A free input is entered at the scan itself, which is easiest to follow.
    const t = free ? k * period : Math.max((k - 1) * period + 1, before ? before.t + least : 0);
    if (t > k * period) return null;
    found.push({ t, input: i, value });
  }
  return found;
}

/** Inputs that turn once more after the last scan, unseen by it, so that the condition comes true. */
function lastOperations(
  path: ScanPath,
  model: ScanModel,
  { condition }: Extract<Property, { kind: 'never' }>,
  t: number,
): Operation[] {
  const { state } = path[path.length - 1]!;
  const look = lookAt(model, state);
  const values = inputsThatBreak(model, condition, look);
  return model.network.inputs.flatMap(({ net }, input) => {
    const value = values?.get(net);
    return value === undefined || value === look.net(net) ? [] : [{ t, input, value }];
  });
}
