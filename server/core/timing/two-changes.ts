/**
 * Doors that open in no stroke because it takes two changes to open them: a stage that waits for a switch and a sensor, a vent that is
 * held while the rig runs. A stroke follows one change, so that these have none; what would open them is found by trial.
 */
import { decidingNets, driveOf, inputsOfRig, isSequenced } from '../model/logic';
import type { Rig } from '../model/rig';
import { kept, type Kept, type Work } from '../work/work';
import { say } from '../words/say';
import { createEngine, type Engine } from './engine';
import type { TimingFacts } from './facts';
import { patternWork } from './pattern';
import { listText } from './words';

export interface TwoChanges {
  readonly doors: readonly number[];
  /** In the order in which they are made. */
  readonly changes: readonly [Change, Change];
}

interface Change {
  readonly net: number;
  readonly name: string;
  readonly becomes: boolean;
}

/** The most inputs of one door of which pairs are tried, the most trials of a rig, and edges of each. */
const MOST = 8;
const MOST_TRIALS = 300;
const TRIAL_EDGES = 2_000;

/** Kept by what is known of the rig's timing. */
const FOUND = new WeakMap<TimingFacts, Kept<TwoChanges[]>>();

/** The doors that no stroke opens and no single change, each with the first two changes that do; those that open together together. */
export function openedByTwo(rig: Rig, timing: TimingFacts): TwoChanges[] {
  let found = FOUND.get(timing);
  if (!found) FOUND.set(timing, (found = kept(() => searched(rig, timing))));
  return found.value();
}

function* searched(rig: Rig, timing: TimingFacts): Work<TwoChanges[]> {
  const { atRest, strokes, incomplete } = timing;
  if (atRest.loop || atRest.moves || incomplete !== null || strokes.length === 0) return [];
  const opened = new Set(strokes.flatMap(({ doors }) => doors.flatMap((d) => (d.windows.length > 0 ? [d.door] : []))));
  const left = rig.doors.flatMap((_, door) => {
    const isDriven = driveOf(rig, door) !== undefined || isSequenced(rig, door);
    return isDriven && !opened.has(door) ? [door] : [];
  });
  if (left.length === 0) return [];
  const starts = (net: number): boolean => (atRest.trace.initial[net] ?? false) !== timing.turned.includes(net);
  const engine = createEngine(rig, { budget: TRIAL_EDGES, inputs: starts });
  yield* patternWork(engine);
  const trials = { left: MOST_TRIALS };
  const found = new Map<string, { doors: number[]; changes: readonly [Change, Change] }>();
  for (const door of engine.stopped ? [] : left) {
    const changes = yield* twoFor(rig, engine, door, starts, trials);
    if (changes === null) continue;
    const key = changes.map(({ net }) => net).join();
    const known = found.get(key);
    if (known) known.doors.push(door);
    else found.set(key, { doors: [door], changes });
  }
  return [...found.values()];
}

function* twoFor(
  rig: Rig,
  engine: Engine,
  door: number,
  starts: (net: number) => boolean,
  trials: { left: number },
): Work<readonly [Change, Change] | null> {
  const deciding = decidingNets(rig, door);
  const changes = inputsOfRig(rig)
    .filter(({ net }) => deciding.has(net))
    .slice(0, MOST)
    .map(({ net, name }): Change => ({ net, name, becomes: !starts(net) }));
  const start = engine.snapshot();
  function* opens(...made: readonly Change[]): Work<boolean> {
    yield;
    if (trials.left-- <= 0) return false;
    engine.restore(start);
    for (const { net, becomes } of made) {
      engine.setInput(net, becomes);
      yield* patternWork(engine);
    }
    const isOpen = engine.moves.some((m) => m.door === door && m.to === 1);
    engine.restore(start);
    return isOpen;
  }
  if (yield* opens()) return null;
  for (const change of changes) if (yield* opens(change)) return null;
  for (const first of changes)
    for (const second of changes) if (first !== second && (yield* opens(first, second))) return [first, second];
  return null;
}

/** "d, e and f open in no stroke: it takes two changes, want on and then high on." */
export function twoChangesText(rig: Rig, { doors, changes }: TwoChanges): string {
  const [first, second] = changes.map(changeText);
  const names = namesOf(rig, doors);
  return doors.length === 1
    ? say`${names} opens in no stroke: it takes two changes, ${first!} and then ${second!}.`
    : say`${names} open in no stroke: it takes two changes, ${first!} and then ${second!}.`;
}

/** The same behind a sentence that says already that one of them does not open. */
export function twoChangesHint(rig: Rig, { doors, changes }: TwoChanges): string {
  const [first, second] = changes.map(changeText);
  return say`It takes two changes to open ${namesOf(rig, doors)}: ${first!} and then ${second!}.`;
}

const namesOf = (rig: Rig, doors: readonly number[]): string => listText(doors.map((door) => rig.doors[door]!.name));

const changeText = ({ name, becomes }: Change): string => (becomes ? say`${name} on` : say`${name} off`);
