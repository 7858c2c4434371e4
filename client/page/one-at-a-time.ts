/** Work that is asked for more often than it can be done, such as an answer of the server for every move of a pointer. */

interface OneAtATime {
  /** Runs the work; where it is under way already, once more afterwards. */
  readonly run: () => void;
  readonly isBusy: () => boolean;
}

/** One run of `work` at a time, however often it is asked for; it reads what is wanted when it begins. */
export function oneAtATime(work: () => Promise<void>): OneAtATime {
  let busy = false;
  let due = false;
  async function runAll(): Promise<void> {
    busy = true;
    try {
      do {
        due = false;
        await work();
      } while (due);
    } finally {
      busy = false;
    }
  }
  return {
    run: () => {
      due = true;
      if (!busy) void runAll();
    },
    isBusy: () => busy,
  };
}
