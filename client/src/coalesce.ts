/** Runs work at once, and once more for everything that was asked meanwhile: never two at a time, never a queue. */

/** `failed` is called with work that rejects; later requests still run. */
export function coalesce(work: () => Promise<void>, failed: (error: unknown) => void = () => undefined): () => void {
  let running = false;
  let again = false;
  const run = async (): Promise<void> => {
    running = true;
    do {
      again = false;
      await work().catch(failed);
    } while (again);
    running = false;
  };
  return () => {
    if (running) again = true;
    else void run();
  };
}
