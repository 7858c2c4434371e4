/**
 * Long computations of the server take turns on its one thread. Between two slices every message that has come in is handled; then
 * the most urgent computation gets the next slice, and among equals the one that has had least, so that what is short never waits
 * for what is long. (Were each to pause by itself, n of them would run n slices for every single message let in between.)
 */
import type { Work } from '../core/work/work';
import type { Host } from './host';

/** Longest stretch of work before waiting messages are handled, in milliseconds. */
const SLICE = 10;

/** Messages handled between two slices at most: whoever floods the server delays the rest, and does not stop it. */
const MOST_MESSAGES = 200;

/** `caret`: somebody waits for it where the caret or pointer is; `open`: what is shown of open files; `rest`: everything else. */
export type Urgency = 'caret' | 'open' | 'rest';

const ORDER: Readonly<Record<Urgency, number>> = { caret: 0, open: 1, rest: 2 };

export interface Turns {
  /** Runs a computation in slices; null where `stop` ended it, which is asked before each of them. */
  run<T>(work: Work<T>, urgency: Urgency, stop: () => boolean): Promise<{ readonly value: T } | null>;
  /** For a long walk in short steps: to be called between them; resolves at once, or where a slice has passed at the next turn. */
  walk(urgency: Urgency): () => Promise<void>;
}

/** A computation that waits for its next slice. */
interface Waiting {
  readonly urgency: number;
  /** Milliseconds it has had. */
  spent: number;
  readonly stop: () => boolean;
  /** Runs until the moment given; true once it is done. */
  readonly slice: (until: number) => boolean;
  readonly give: () => void;
  readonly fail: (error: unknown) => void;
}

/** Lets messages be handled until none is left. One pause lets one through, if it came before the pause began. */
async function takeMessages(host: Pick<Host, 'pause'>, handled: () => number): Promise<void> {
  const first = handled();
  let before: number;
  do {
    before = handled();
    await host.pause();
    await host.pause();
  } while (handled() !== before && handled() - first < MOST_MESSAGES);
}

/** The most urgent, and of those the one that has had least. */
function nextOf(waiting: Iterable<Waiting>): Waiting {
  let best: Waiting | null = null;
  for (const one of waiting) {
    if (!best || one.urgency < best.urgency || (one.urgency === best.urgency && one.spent < best.spent)) best = one;
  }
  return best!;
}

/** @param handled messages taken in so far, however many: only differences count */
export function createTurns(host: Pick<Host, 'now' | 'pause'>, handled: () => number): Turns {
  const waiting = new Set<Waiting>();
  let isRunning = false;

  /** Takes out what nobody waits for any more. */
  const drop = (): void => [...waiting].forEach((one) => settle(one, one.stop));
  const settle = (one: Waiting, isOver: () => boolean): void => {
    try {
      if (!isOver()) return;
      waiting.delete(one);
      one.give();
    } catch (error) {
      waiting.delete(one);
      one.fail(error);
    }
  };
  const runAll = async (): Promise<void> => {
    isRunning = true;
    while (waiting.size > 0) {
      await takeMessages(host, handled);
      drop();
      if (waiting.size === 0) break;
      const one = nextOf(waiting);
      const since = host.now();
      settle(one, () => one.slice(since + SLICE));
      one.spent += host.now() - since;
    }
    isRunning = false;
  };
  const enter = (one: Waiting): void => {
    waiting.add(one);
    if (!isRunning) void runAll();
  };
  const run = <T>(work: Work<T>, urgency: Urgency, stop: () => boolean): Promise<{ readonly value: T } | null> =>
    new Promise((resolve, reject) => {
      let result: { readonly value: T } | null = null;
      const slice = (until: number): boolean => {
        do {
          const step = work.next();
          if (step.done) result = { value: step.value };
        } while (!result && host.now() < until);
        return result !== null;
      };
      enter({ urgency: ORDER[urgency], spent: 0, stop, slice, give: () => resolve(result), fail: reject });
    });
  const walk = (urgency: Urgency): (() => Promise<void>) => {
    let since = host.now();
    let spent = 0;
    return async () => {
      const had = host.now() - since;
      if (had < SLICE) return;
      spent += had;
      await new Promise<void>((give, fail) =>
        enter({ urgency: ORDER[urgency], spent, stop: () => false, slice: () => true, give, fail }),
      );
      since = host.now();
    };
  };
  return { run, walk };
}
