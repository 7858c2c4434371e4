/** Keyboard in the timing panel: from change to change, from lane to lane, to causes and to the source; zoom and pan. */
import { changesOf } from '../../../server/core/diagram/kit/state';
import { chainOf } from '../../../server/core/diagram/timing/causes';
import type { TimingEdge } from '../../../server/core/diagram/timing/model';
import { say } from '../../../server/core/words/say';
import { lastAt } from '../../../server/core/model/motion';
import { STEP, type Hand } from './hand';
import { actualSize, edgeById, fit, fitAll, focusedId, pan, placeCursor, zoom, type TimingScene } from './scene';

/** For screen readers. */
export const keyHelp = (): string =>
  [
    say`Left and right arrow go from change to change in time, up and down from lane to lane, Home and End to the first and last change.`,
    say`Enter shows the source, c goes to the cause, Space takes the change in hand to move it.`,
    say`m sets or takes away a second cursor.`,
    say`Plus and minus zoom, f fits the stroke, a shows everything, 1 is 100 percent, Escape clears.`,
  ].join(' ');

const PAN = 200;

const KEYS: Readonly<Record<string, (scene: TimingScene) => void>> = {
  ArrowRight: (scene) => step(scene, 1),
  ArrowLeft: (scene) => step(scene, -1),
  ArrowDown: (scene) => stepLane(scene, 1),
  ArrowUp: (scene) => stepLane(scene, -1),
  Home: (scene) => goTo(scene, changes(scene)[0]),
  End: (scene) => goTo(scene, changes(scene).at(-1)),
  PageDown: (scene) => pan(scene, PAN),
  PageUp: (scene) => pan(scene, -PAN),
  '+': (scene) => zoom(scene, 1.25),
  '=': (scene) => zoom(scene, 1.25),
  '-': (scene) => zoom(scene, 0.8),
  '1': actualSize,
  f: fit,
  a: fitAll,
  c: toCause,
  ' ': (scene) => takeFocused(scene),
  m: toggleMark,
  Escape: clear,
  Enter: (scene) => scene.app.reveal(litEdge(scene)?.source ?? null, true),
};

/** While an edge is in the hand. */
const HAND_KEYS: Readonly<Record<string, (hand: Hand, shift: boolean) => void>> = {
  ArrowRight: (hand, shift) => hand.moveBy(shift ? 10 * STEP : STEP),
  ArrowLeft: (hand, shift) => hand.moveBy(shift ? -10 * STEP : -STEP),
  Home: (hand) => hand.moveToStop(-1),
  End: (hand) => hand.moveToStop(1),
  n: (hand) => hand.nextChoice(1),
  N: (hand) => hand.nextChoice(-1),
  Enter: (hand) => hand.drop(),
  ' ': (hand) => hand.drop(),
  Escape: (hand) => hand.leave(),
};

export function listenToKeys(scene: TimingScene): void {
  scene.scroller.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (scene.app.session.hand) {
      const move = HAND_KEYS[event.key];
      if (event.key !== 'Tab') event.preventDefault();
      return move?.(scene.hand, event.shiftKey);
    }
    const act = KEYS[event.key];
    if (!act) return;
    event.preventDefault();
    act(scene);
  });
}

const changes = ({ app }: TimingScene): TimingEdge[] => changesOf(app.timing()?.lanes ?? []);

function litEdge(scene: TimingScene): TimingEdge | undefined {
  return edgeById(scene, focusedId(scene) ?? scene.app.session.litEdge);
}

/** Puts the time cursor on a change, brings it into sight and gives it the focus once it is drawn. */
function goTo(scene: TimingScene, edge: TimingEdge | undefined): void {
  if (!edge) return;
  scene.wanted = edge.id;
  placeCursor(scene, edge.t);
}

function step(scene: TimingScene, direction: 1 | -1): void {
  const all = changes(scene);
  const id = litEdge(scene)?.id;
  const index = id === undefined ? -1 : all.findIndex((e) => e.id === id);
  const { time } = scene.app.session.view;
  const here = index >= 0 || time === undefined ? index : lastAt(all, time);
  goTo(scene, all[here + direction]);
}

/** The change nearest in time on the next lane above (-1) or below (1) that has one. */
function stepLane(scene: TimingScene, direction: 1 | -1): void {
  const lanes = scene.app.timing()?.lanes ?? [];
  const edge = edgeById(scene, focusedId(scene));
  const start = direction === 1 ? 0 : lanes.length - 1;
  let k = edge ? lanes.findIndex((l) => l.id === edge.lane) + direction : start;
  while (lanes[k] && lanes[k]!.edges.length === 0) k += direction;
  const t = edge?.t ?? scene.app.session.view.time ?? 0;
  const distance = (e: TimingEdge) => Math.abs(e.t - t);
  goTo(scene, [...(lanes[k]?.edges ?? [])].sort((a, b) => distance(a) - distance(b))[0]);
}

function toCause(scene: TimingScene): void {
  const edge = litEdge(scene);
  const lanes = scene.app.timing()?.lanes ?? [];
  if (edge) goTo(scene, chainOf(lanes, edge.id).at(-2));
}

function takeFocused(scene: TimingScene): void {
  const edge = litEdge(scene);
  if (edge) scene.hand.take(edge.id, 'keys');
}

/** The second cursor to where the first one is; away, where it stands there. */
function toggleMark({ app }: TimingScene): void {
  const { time, mark } = app.session.view;
  app.view({ mark: time === mark ? undefined : time });
}

function clear(scene: TimingScene): void {
  scene.wanted = null;
  scene.scroller.focus();
  scene.app.view({ lane: undefined, time: undefined, mark: undefined });
}

/** Moves the time cursor to the next (1) or previous (-1) moment at which anything changes, without taking the focus. */
export function stepTime(scene: TimingScene, direction: 1 | -1): void {
  const all = changes(scene);
  const time = scene.app.session.view.time ?? -1;
  const next = direction === 1 ? all.find((e) => e.t > time) : all[lastAt(all, time - 1)];
  if (next) placeCursor(scene, next.t);
}
