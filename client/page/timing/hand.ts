/**
 * An edge in the hand: taken by pointer or keyboard, moved, and let go or left. One question is under way at a time; the answer to where
 * the hand is now is asked for when the one before has come.
 */
import { say } from '../../../server/core/words/say';
import { timeText } from '../../../server/core/diagram/kit/time-text';
import { edgeIndex } from '../../../server/core/diagram/timing/causes';
import type { ChangeData } from '../../../server/protocol/by-hand';
import type { App } from '../app';
import { oneAtATime } from '../one-at-a-time';
import type { HandState, Moved } from '../session';
import { worstWhereItRests } from './worst';

/** Edges are set to multiples of it from where they stood, µs. */
export const STEP = 10_000;

/** What pointer, keys and buttons do with an edge; each does nothing where there is nothing to do. */
export interface Hand {
  /** Takes an edge. */
  take(id: string, by: HandState['by']): void;
  /** Brings it to a moment. */
  moveTo(wanted: number): void;
  /** Moves it by microseconds. */
  moveBy(by: number): void;
  /** To the next moment (1: later, -1: earlier) at which a requirement ends. */
  moveToStop(direction: 1 | -1): void;
  /** Holds it by another of the values that move it. */
  nextChoice(direction: 1 | -1): void;
  /** Lets go: writes the value, as one edit that can be undone. */
  drop(): void;
  /** Lets go without writing. */
  leave(): void;
}

interface Holder {
  readonly app: App;
  readonly follow: () => void;
}

export function createHand(app: App): Hand {
  const rested = worstWhereItRests(app);
  const holder: Holder = { app, follow: oneAtATime(() => follow(app, rested)).run };
  return {
    take: (id, by) => take(holder, id, by),
    moveTo: (wanted) => moveTo(holder, wanted),
    moveBy(by) {
      const { hand } = app.session;
      if (hand) moveTo(holder, Math.max(0, hand.wanted + by));
    },
    moveToStop: (direction) => moveToStop(holder, direction),
    nextChoice: (direction) => nextChoice(holder, direction),
    drop: () => void drop(app),
    leave: () => leave(app),
  };
}

function take(holder: Holder, edgeId: string, by: HandState['by']): void {
  const { app } = holder;
  const edge = edgeIndex(app.timing()?.lanes ?? []).get(edgeId);
  const [rig, timing] = [app.rig(), app.timing()];
  if (!edge || !rig || !timing || app.session.hand || app.session.stale) return;
  if (app.session.whatIf) return app.say(say`Write or forget the values that are tried before an edge is taken.`);
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
    isLoose: false,
    worst: null,
    wanted: edge.t,
    moved: null,
    letGo: false,
    writing: false,
  };
  app.set({ hand, playing: false });
  void askChoices(holder, hand);
}

async function askChoices({ app, follow }: Holder, taken: HandState): Promise<void> {
  const { picture, edge } = taken;
  const answer = await app.ask({ ask: 'take', picture, edge }, taken.rig);
  if (!isStill(app, taken)) return;
  const choices = answer?.kind === 'choices' ? answer.choices : [];
  if (choices.length === 0) {
    app.set({ hand: null });
    const why = answer?.kind === 'choices' ? answer.why : null;
    return app.say(why ?? say`No time in the text moves ${taken.name}.`);
  }
  app.set({ hand: { ...app.session.hand!, choices, isLoose: answer?.kind === 'choices' && answer.isLoose } });
  if (app.session.hand!.letGo) return drop(app);
  sayChoice(app);
  follow();
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

function moveTo({ app, follow }: Holder, wanted: number): void {
  const { hand } = app.session;
  if (!hand || hand.writing || hand.wanted === wanted) return;
  app.aim(wanted);
  follow();
}

function moveToStop(holder: Holder, direction: 1 | -1): void {
  const { app } = holder;
  const { hand } = app.session;
  if (!hand) return;
  const ahead = hand.stops.map((s) => s.t).filter((t) => (t - hand.wanted) * direction > 0);
  if (ahead.length === 0) return app.say(say`No requirement ends in that direction.`);
  moveTo(
    holder,
    ahead.reduce((a, b) => ((b - a) * direction < 0 ? b : a)),
  );
}

/** Asks what follows where the hand is now, and shows it. */
async function follow(app: App, rested: () => void): Promise<void> {
  const { hand } = app.session;
  if (!hand?.choices || hand.writing) return;
  const { picture, edge, choice, wanted } = hand;
  const answer = await app.ask({ ask: 'move', picture, edge, choice, t: wanted }, hand.rig);
  const now = app.session.hand;
  if (!now || !isStill(app, hand)) return;
  if (answer?.kind !== 'moved') {
    app.set({ hand: null });
    return app.say(say`The text has changed; the edge is let go.`);
  }
  if (now.choice !== choice) return;
  app.set({ hand: { ...now, moved: answer, worst: null } });
  if (now.wanted === wanted) rested();
  if (now.by === 'keys' && now.wanted === wanted && wanted !== now.from) app.say(movedWords(now, answer));
}

function nextChoice({ app, follow }: Holder, direction: 1 | -1): void {
  const { hand } = app.session;
  if (!hand?.choices || hand.writing) return;
  const count = hand.choices.length;
  app.set({
    hand: { ...hand, choice: (hand.choice + direction + count) % count, stops: [], moved: null, worst: null },
  });
  sayChoice(app);
  follow();
  void askStops(app);
}

function sayChoice(app: App): void {
  const { hand } = app.session;
  const choice = hand?.choices?.[hand.choice];
  if (!hand || !choice) return;
  const help =
    hand.by === 'keys'
      ? say`Left and right move it, n takes the next value, Enter writes, Escape leaves.`
      : say`n: next value.`;
  const count = say`${hand.choice + 1} of ${hand.choices.length}`;
  const held = say`${hand.name}, ${timeText(hand.from)}, held by ${choice.label}, ${choice.text} (${count}).`;
  app.say(`${held} ${help}`);
}

/** Why an edge comes no nearer to where the hand is. */
export function heldBack(held: NonNullable<Moved['held']>): string {
  switch (held) {
    case 'range':
      return say`The range of the value ends here.`;
    case 'gone':
      return say`It does not happen beyond.`;
    case 'leap':
      return say`Beyond, the order of events changes and it leaps.`;
    case 'other':
      return say`Beyond, something else decides when it happens.`;
  }
}

/** What came of a move in words: `upper closes 1.74 s: settle 1.79 s. Breaks …` */
export function movedWords(hand: HandState, moved: NonNullable<HandState['moved']>): string {
  const label = hand.choices?.[hand.choice]?.label ?? '';
  const held = moved.held ? ` ${heldBack(moved.held)}` : '';
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
  return [broken && say`Breaks ${broken}.`, met && say`Meets ${met}.`, open && say`No longer decided: ${open}.`]
    .filter((p) => p)
    .join(' ');
}

async function drop(app: App): Promise<void> {
  const { hand } = app.session;
  if (!hand || hand.writing) return;
  if (hand.wanted === hand.from) return leave(app);
  if (!hand.choices) return app.set({ hand: { ...hand, letGo: true } });
  app.set({ hand: { ...hand, writing: true } });
  const { picture, edge, choice, wanted } = hand;
  const answer = await app.ask({ ask: 'keep', picture, edge, choice, t: wanted }, hand.rig);
  const label = hand.choices[choice]?.label ?? '';
  if (answer?.kind === 'edits' && answer.edits.length > 0) {
    app.say(say`Written: ${label} ${answer.text}. Undo takes it back.`);
    // The drawing of the new text takes the hand away; where none comes, it is let go.
    setTimeout(() => app.session.hand?.writing && app.set({ hand: null }), 3_000);
    return;
  }
  app.set({ hand: null });
  app.say(answer ? say`Nothing to write: ${label} stays as it is.` : say`The text has changed; nothing was written.`);
}

function leave(app: App): void {
  if (!app.session.hand) return;
  app.set({ hand: null });
  app.say(say`Left as it was.`);
}
