/**
 * What an edge in the hand does within tolerance: many runs of the engine, so it is asked for once the hand rests, shown a moment later, and
 * dropped as soon as the hand moves on.
 */
import { say } from '../../../server/core/words/say';
import type { App } from '../app';
import type { HandState, Worst } from '../session';

/** A hand that has not moved for so long rests, milliseconds. */
const RESTS = 120;

/** To be called whenever the edge has come to where it was wanted. */
export function worstWhereItRests(app: App): () => void {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const stopsOf = { edge: '', choice: -1 };
  return () => {
    clearTimeout(timer);
    if (app.session.hand?.isLoose) timer = setTimeout(() => void askWorst(app, stopsOf), RESTS);
  };
}

/** Verdicts first, then the earliest and latest moments of all edges, then where requirements end; each dropped where the hand went on. */
async function askWorst(app: App, stopsOf: { edge: string; choice: number }): Promise<void> {
  const held = app.session.hand;
  if (!held?.moved || held.writing) return;
  const { picture, edge, choice, wanted: t, rig } = held;
  const isThere = ({ wanted, writing, ...now }: HandState): boolean =>
    now.picture === picture && now.edge === edge && now.choice === choice && wanted === t && !writing;
  const stillThere = (): HandState | null => {
    const { hand } = app.session;
    return hand?.moved && isThere(hand) ? hand : null;
  };
  const worst = await app.ask({ ask: 'worst', picture, edge, choice, t }, rig);
  const judged = stillThere();
  if (!judged || worst?.kind !== 'worst') return;
  app.set({ hand: { ...judged, worst } });
  if (judged.by === 'keys' && worst.changes.length > 0) app.say(worstWords(worst));
  const ghosts = await app.ask({ ask: 'ghosts', picture, edge, choice, t }, rig);
  const drawn = stillThere();
  if (!drawn?.moved || ghosts?.kind !== 'ghosts') return;
  app.set({ hand: { ...drawn, moved: { ...drawn.moved, timing: ghosts.timing } } });
  if (drawn.stops.some((s) => s.beyond === 'worst') || (stopsOf.edge === edge && stopsOf.choice === choice)) return;
  Object.assign(stopsOf, { edge, choice });
  const answer = await app.ask({ ask: 'worst stops', picture, edge, choice }, rig);
  stopsOf.edge = '';
  const { hand } = app.session;
  if (answer?.kind !== 'stops' || hand?.edge !== edge || hand.choice !== choice || hand.picture !== picture) return;
  app.set({ hand: { ...hand, stops: [...hand.stops.filter((s) => s.beyond !== 'worst'), ...answer.stops] } });
}

/** `Within tolerance: 4 of 5 hold. Lost: gap(upper, lower) >= 100 ms (at worst missed by 40 ms).` */
export function worstWords({ kept, of, changes }: Worst): string {
  const list = (now: 'kept' | 'lost'): string =>
    changes
      .filter((c) => c.now === now)
      .map((c) => `${c.text} (${c.found})`)
      .join('; ');
  const [lost, won] = [list('lost'), list('kept')];
  return [
    say`Within tolerance: ${kept} of ${of} hold.`,
    lost && say`No longer within tolerance: ${lost}.`,
    won && say`Now within tolerance: ${won}.`,
  ]
    .filter((part) => part)
    .join(' ');
}
