/**
 * An edge in the hand: taken by pointer or keyboard, moved, and let go or left. One question is under way at a time; the answer to where
 * the hand is now is asked for when the one before has come.
 */
import { timeText } from '../../../server/core/diagram/kit/time-text';
import type { ChangeData } from '../../../server/protocol/by-hand';
import type { App } from '../app';
import type { HandState } from '../session';
import { edgeById, type TimingScene } from './scene';

/** Edges are set to multiples of it from where they stood, µs. */
export const STEP = 10_000;

/** Takes an edge; does nothing where one is held. */
export function take(scene: TimingScene, edgeId: string, by: HandState['by']): void {
  const { app } = scene;
  const edge = edgeById(scene, edgeId);
  const [rig, timing] = [app.rig(), app.timing()];
  if (!edge || !rig || !timing || app.session.hand || app.session.stale) return;
  if (app.session.whatIf) return app.say('Write or forget the values that are tried before an edge is taken.');
  const hand: HandState = {
    rig: rig.id,
    picture: timing.id,
    edge: edge.id,
    name: edge.text,
    from: edge.t,
    by,
    choices: null,
    choice: 0,
    stops: [],
    wanted: edge.t,
    moved: null,
    letGo: false,
    writing: false,
  };
  app.set({ hand, playing: false });
  void askChoices(app, hand);
}

async function askChoices(app: App, taken: HandState): Promise<void> {
  const { picture, edge } = taken;
  const answer = await app.ask({ ask: 'take', picture, edge }, taken.rig);
  if (!isStill(app, taken)) return;
  const choices = answer?.kind === 'choices' ? answer.choices : [];
  if (choices.length === 0) {
    app.set({ hand: null });
    return app.say(`No time in the text moves ${taken.name}.`);
  }
  app.set({ hand: { ...app.session.hand!, choices } });
  if (app.session.hand!.letGo) return drop(app);
  sayChoice(app);
  void follow(app);
  void askStops(app);
}

/** Whether the edge that was taken is the one still held. */
function isStill(app: App, { edge, picture }: HandState): boolean {
  const { hand } = app.session;
  return hand !== null && hand.edge === edge && hand.picture === picture && !hand.writing;
}

async function askStops(app: App): Promise<void> {
  const { hand } = app.session;
  if (!hand) return;
  const { picture, edge, choice } = hand;
  const answer = await app.ask({ ask: 'stops', picture, edge, choice }, hand.rig);
  if (!isStill(app, hand) || app.session.hand!.choice !== choice || answer?.kind !== 'stops') return;
  app.set({ hand: { ...app.session.hand!, stops: answer.stops } });
}

/** Brings the hand to a moment. */
export function moveTo(app: App, wanted: number): void {
  const { hand } = app.session;
  if (!hand || hand.writing || hand.wanted === wanted) return;
  app.set({ hand: { ...hand, wanted } });
  void follow(app);
}

/** Moves by steps, from where the edge stands. */
export function moveBy(app: App, by: number): void {
  const { hand } = app.session;
  if (hand) moveTo(app, Math.max(0, hand.wanted + by));
}

/** To the next moment (1: later, -1: earlier) at which a requirement ends. */
export function moveToStop(app: App, direction: 1 | -1): void {
  const { hand } = app.session;
  if (!hand) return;
  const ahead = hand.stops.map((s) => s.t).filter((t) => (t - hand.wanted) * direction > 0);
  if (ahead.length === 0) return app.say('No requirement ends in that direction.');
  moveTo(
    app,
    ahead.reduce((a, b) => ((b - a) * direction < 0 ? b : a)),
  );
}

let isAsking = false;

async function follow(app: App): Promise<void> {
  if (isAsking) return;
  isAsking = true;
  try {
    for (;;) {
      const { hand } = app.session;
      if (!hand?.choices || hand.writing) return;
      const { picture, edge, choice, wanted } = hand;
      const answer = await app.ask({ ask: 'move', picture, edge, choice, t: wanted }, hand.rig);
      const now = app.session.hand;
      if (!now || !isStill(app, hand)) continue;
      if (answer?.kind !== 'moved') {
        app.set({ hand: null });
        return app.say('The text has changed; the edge is let go.');
      }
      if (now.choice === choice) app.set({ hand: { ...now, moved: answer } });
      if (now.wanted !== wanted || now.choice !== choice) continue;
      if (now.by === 'keys' && wanted !== now.from) app.say(movedWords(now, answer));
      return;
    }
  } finally {
    isAsking = false;
  }
}

/** Another of the values that move the edge. */
export function nextChoice(app: App, direction: 1 | -1): void {
  const { hand } = app.session;
  if (!hand?.choices || hand.writing) return;
  const count = hand.choices.length;
  app.set({ hand: { ...hand, choice: (hand.choice + direction + count) % count, stops: [], moved: null } });
  sayChoice(app);
  void follow(app);
  void askStops(app);
}

function sayChoice(app: App): void {
  const { hand } = app.session;
  const choice = hand?.choices?.[hand.choice];
  if (!hand || !choice) return;
  const help =
    hand.by === 'keys'
      ? ' Left and right move it, n takes the next value, Enter writes, Escape leaves.'
      : ' n: next value.';
  const count = `${hand.choice + 1} of ${hand.choices.length}`;
  app.say(`${hand.name}, ${timeText(hand.from)}, held by ${choice.label}, ${choice.text} (${count}).${help}`);
}

/** What came of a move in words: `upper closes 1.74 s: settle 1.79 s. Breaks …` */
export function movedWords(hand: HandState, moved: NonNullable<HandState['moved']>): string {
  const label = hand.choices?.[hand.choice]?.label ?? '';
  const why = { range: ' The range of the value ends here.', gone: ' It does not happen beyond.' };
  const held = moved.held ? why[moved.held] : '';
  return [`${hand.name} ${timeText(moved.t)}: ${label} ${moved.text}.${held}`, changesText(moved.changes)]
    .filter((p) => p !== '')
    .join(' ');
}

/** `Breaks gap(upper, lower) >= 100 ms: 60 ms.` */
export function changesText(changes: readonly ChangeData[]): string {
  const list = (state: ChangeData['now']): string =>
    changes
      .filter((c) => c.now === state)
      .map((c) => (c.found === '' ? c.text : `${c.text} (${c.found})`))
      .join('; ');
  const [broken, met, open] = [list('failed'), list('met'), list('open')];
  return [broken && `Breaks ${broken}.`, met && `Meets ${met}.`, open && `No longer decided: ${open}.`]
    .filter((p) => p)
    .join(' ');
}

/** Lets go: writes the value, as one edit that can be undone. */
export async function drop(app: App): Promise<void> {
  const { hand } = app.session;
  if (!hand || hand.writing) return;
  if (hand.wanted === hand.from) return leave(app);
  if (!hand.choices) return app.set({ hand: { ...hand, letGo: true } });
  app.set({ hand: { ...hand, writing: true } });
  const { picture, edge, choice, wanted } = hand;
  const answer = await app.ask({ ask: 'keep', picture, edge, choice, t: wanted }, hand.rig);
  const label = hand.choices[choice]?.label ?? '';
  if (answer?.kind === 'edits' && answer.edits.length > 0) {
    app.say(`Written: ${label} ${answer.text}. Undo takes it back.`);
    // The drawing of the new text takes the hand away; where none comes, it is let go.
    setTimeout(() => app.session.hand?.writing && app.set({ hand: null }), 3_000);
    return;
  }
  app.set({ hand: null });
  app.say(answer ? `Nothing to write: ${label} stays as it is.` : 'The text has changed; nothing was written.');
}

/** Lets go without writing. */
export function leave(app: App): void {
  if (!app.session.hand) return;
  app.set({ hand: null });
  app.say('Left as it was.');
}
