/**
 * Long computations in small steps. A computation that may take long is a generator that yields between its steps and changes nothing
 * while it waits; whoever runs it decides when to let others go first, and stops by not asking again. `finish` runs it without stopping.
 */

/** A computation that may be left between any two of its steps. A step is meant to take less than a few milliseconds. */
export type Work<T> = Generator<undefined, T, void>;

/** Runs a computation to its end. */
export function finish<T>(work: Work<T>): T {
  for (;;) {
    const step = work.next();
    if (step.done) return step.value;
  }
}

/** A computation of at most `most` steps; null where it had not ended by then. What it has put outside itself stays there. */
export function* atMost<T>(work: Work<T>, most: number): Work<T | null> {
  for (let steps = 0; ; steps++) {
    const step = work.next();
    if (step.done) return step.value;
    if (steps >= most) return null;
    yield;
  }
}

/** A value computed once, by whoever asks first: several may advance it, none does it again. */
export interface Kept<T> {
  /** The value, computed to the end here and now where it is not there yet. */
  value(): T;
  /** The value in steps; goes on where it was left, by whomever. */
  work(): Work<T>;
}

/** Raised by a value that is read before it is there, where `patiently` listens. */
class NotYet {
  constructor(readonly missing: Kept<unknown>) {}
}

let isListening = false;

/** Values that the function called by `patiently` may still compute in place. */
let inPlace = 0;

/** Calls of one function after which the next may compute one value more in place. */
const PATIENCE = 16;

/**
 * Calls a pure function that reads kept values, in steps: where one is not there yet, it is computed in steps and the function called
 * again. So whoever writes the function need not know which of what it reads takes long. A function that reads thousands of values one
 * after the other would be called thousands of times: the more often it was called, the more values it may compute in place.
 */
export function* patiently<T>(read: () => T): Work<T> {
  for (let calls = 0; ; calls++) {
    const outcome = attempt(read, Math.floor(calls / PATIENCE));
    if ('value' in outcome) return outcome.value;
    yield* outcome.missing.work();
    yield;
  }
}

function attempt<T>(read: () => T, most: number): { readonly value: T } | NotYet {
  inPlace = most;
  return listening(true, () => {
    try {
      return { value: read() };
    } catch (error) {
      if (error instanceof NotYet) return error;
      throw error;
    }
  });
}

function listening<T>(whether: boolean, run: () => T): T {
  const before = isListening;
  isListening = whether;
  try {
    return run();
  } finally {
    isListening = before;
  }
}

export function kept<T>(start: () => Work<T>): Kept<T> {
  let known: { readonly value: T } | null = null;
  let running: Work<T> | null = null;
  const advance = (): { readonly value: T } | null => {
    running ??= start();
    try {
      // A computation under way is never broken off by what it reads: it would have to begin again.
      const step = listening(false, () => running!.next());
      if (step.done) known = { value: step.value };
    } catch (error) {
      running = null; // Whoever asks next starts afresh.
      throw error;
    }
    if (known) running = null;
    return known;
  };
  function* work(): Work<T> {
    while (!known && !advance()) yield;
    return known!.value;
  }
  const value = (): T => {
    if (known) return known.value;
    if (isListening && inPlace-- <= 0) throw new NotYet(self);
    return finish(work());
  };
  const self: Kept<T> = { value, work };
  return self;
}

/** Long computations behind the properties of a value that are computed when first read, by the names of the properties. */
const behind = new WeakMap<object, Map<string, Kept<unknown>>>();

/** Notes that reading `name` of `owner` runs `value`, so that `prepare` can run it in steps beforehand. */
export function standsBehind(owner: object, name: string, value: Kept<unknown>): void {
  const names = behind.get(owner) ?? new Map<string, Kept<unknown>>();
  names.set(name, value);
  behind.set(owner, names);
}

/** Computes properties of a value in steps, so that reading them afterwards takes no time. Of other values this does nothing. */
export function* prepare(owner: object | null | undefined, ...names: readonly string[]): Work<void> {
  const known = owner ? behind.get(owner) : undefined;
  for (const name of names) {
    const value = known?.get(name);
    if (value) yield* value.work();
  }
}
