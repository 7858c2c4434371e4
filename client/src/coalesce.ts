/** Runs work at once, and once more for everything that was asked meanwhile: never two at a time, never a queue. */

/** `work` must not reject. */
export function coalesce(work: () => Promise<void>): () => void {
  let running = false;
  let again = false;
  const run = async (): Promise<void> => {
    running = true;
    do {
      again = false;
      await work();
    } while (again);
    running = false;
  };
  return () => {
    if (running) again = true;
    else void run();
  };
}
