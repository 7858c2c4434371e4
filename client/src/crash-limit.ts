/** How often a server that ends by itself is started again. */

const WINDOW_MS = 3 * 60_000;
const MOST_CRASHES = 4;

/** Counts crashes; `now` is given so that it can be tested. True: start it again; false: too many in three minutes. */
export function crashLimit(now: () => number): () => boolean {
  let times: number[] = [];
  return () => {
    const t = now();
    times = [...times.filter((past) => t - past < WINDOW_MS), t];
    return times.length <= MOST_CRASHES;
  };
}
