/** Keyboard in the store panel: from moment to moment of the run, the second cursor, zoom and pan. */
import { say } from '../../../server/core/words/say';
import { fit, goToEnd, pan, stepMoment, zoom, type StoreScene } from './scene';

/** For screen readers. */
export const storeKeyHelp = (): string =>
  [
    say`Left and right arrow move the time cursor from moment to moment and read out what every chamber holds, Home and End to the first and last.`,
    say`m sets or takes away a second cursor, from which differences count.`,
    say`Page up and Page down move the picture, plus and minus zoom, f shows everything, Escape clears.`,
  ].join(' ');

const KEYS: Readonly<Record<string, (scene: StoreScene) => void>> = {
  ArrowRight: (scene) => stepMoment(scene, 1),
  ArrowLeft: (scene) => stepMoment(scene, -1),
  Home: (scene) => goToEnd(scene, 'first'),
  End: (scene) => goToEnd(scene, 'last'),
  PageDown: (scene) => pan(scene, 0.25),
  PageUp: (scene) => pan(scene, -0.25),
  '+': (scene) => zoom(scene, 1.25),
  '=': (scene) => zoom(scene, 1.25),
  '-': (scene) => zoom(scene, 0.8),
  f: fit,
  '1': fit,
  m: toggleMark,
  Escape: ({ app }) => app.view({ time: undefined, mark: undefined, zero: undefined }),
};

export function listenToKeys(scene: StoreScene): void {
  scene.scroller.addEventListener('keydown', (event) => {
    const act = event.ctrlKey || event.metaKey || event.altKey ? undefined : KEYS[event.key];
    if (!act) return;
    event.preventDefault();
    act(scene);
  });
}

function toggleMark({ app }: StoreScene): void {
  const { time, mark } = app.session.view;
  app.view({ mark: time === mark ? undefined : time });
}
