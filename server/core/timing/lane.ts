/**
 * Changes on their way: queues that the event engine moves net changes through. A response is a transport delay, which swallows
 * nothing: any number of changes of one net may be under way at once, and come out as far apart as they went in. Since all changes of one
 * response time take equally long, they never overtake each other: a plain queue holds them in order of due time, and only the heads of
 * the queues need a heap. Rigs have one to a few response times, so that heap is tiny, and mostly left out altogether.
 */

/** Changes of one delta step, in columns; emptied and used again. */
export class Changes {
  count = 0;
  change = new Int32Array(16);
  cause = new Int32Array(16);
  preset = new Float64Array(16);

  /** `change` is `2 * net + value`. */
  add(change: number, cause: number, preset: number): void {
    const row = this.count++;
    if (row === this.change.length) this.grow();
    this.change[row] = change;
    this.cause[row] = cause;
    this.preset[row] = preset;
  }

  /**
   * Stable order by net: the order of declaration, and for one net the order entered; `applyCurrent` counts on both. Lists are short, so
   * by insertion.
   */
  sort(): void {
    const { change, cause, preset } = this;
    for (let i = 1; i < this.count; i++) {
      const c = change[i]!;
      const from = cause[i]!;
      const p = preset[i]!;
      let j = i - 1;
      for (; j >= 0 && change[j]! >> 1 > c >> 1; j--) {
        change[j + 1] = change[j]!;
        cause[j + 1] = cause[j]!;
        preset[j + 1] = preset[j]!;
      }
      change[j + 1] = c;
      cause[j + 1] = from;
      preset[j + 1] = p;
    }
  }

  private grow(): void {
    const size = this.change.length * 2;
    const change = new Int32Array(size);
    const cause = new Int32Array(size);
    const preset = new Float64Array(size);
    change.set(this.change);
    cause.set(this.cause);
    preset.set(this.preset);
    Object.assign(this, { change, cause, preset });
  }
}

/**
 * First in, first out: changes that all take the same response, so they come out in the order they went in. A ring in columns: the
 * rows in use are `head … head + size - 1`, counted modulo the length, which is a power of two so that `&` wraps.
 */
export class Lane {
  private times = new Float64Array(16);
  private changes = new Int32Array(16);
  private causes = new Int32Array(16);
  private presets = new Float64Array(16);
  private head = 0;
  size = 0;

  /** When the first change is due; `Infinity` when there is none. */
  get headTime(): number {
    return this.size === 0 ? Infinity : this.times[this.head]!;
  }

  push(time: number, change: number, cause: number, preset: number): void {
    if (this.size === this.times.length) this.grow();
    const at = (this.head + this.size++) & (this.times.length - 1);
    this.times[at] = time;
    this.changes[at] = change;
    this.causes[at] = cause;
    this.presets[at] = preset;
  }

  /** Moves the first change into `into`. */
  popInto(into: Changes): void {
    const at = this.head;
    this.head = (at + 1) & (this.times.length - 1);
    this.size--;
    into.add(this.changes[at]!, this.causes[at]!, this.presets[at]!);
  }

  clear(): void {
    this.size = 0;
  }

  /** Moves all times by `by`, and gives each change the cause that `causeOf` makes of its own; by default causes are forgotten. */
  rebase(by: number, causeOf: (cause: number) => number = () => -1): void {
    for (let i = 0; i < this.size; i++) {
      const at = (this.head + i) & (this.times.length - 1);
      this.times[at]! += by;
      this.causes[at] = causeOf(this.causes[at]!);
    }
  }

  /** Visits what is under way, first due first. */
  each(visit: (time: number, change: number, cause: number, preset: number) => void): void {
    for (let i = 0; i < this.size; i++) {
      const at = (this.head + i) & (this.times.length - 1);
      visit(this.times[at]!, this.changes[at]!, this.causes[at]!, this.presets[at]!);
    }
  }

  /** Whether a change under way is one of those asked for; `change` is `2 * net + value`. */
  some(is: (change: number) => boolean): boolean {
    for (let i = 0; i < this.size; i++) if (is(this.changes[(this.head + i) & (this.times.length - 1)]!)) return true;
    return false;
  }

  /** A copy of what is under way, flat: time, change, cause, preset, and so on. */
  save(): number[] {
    const flat: number[] = [];
    this.each((time, change, cause, preset) => flat.push(time, change, cause, preset));
    return flat;
  }

  load(flat: readonly number[]): void {
    this.size = 0;
    this.head = 0;
    for (let i = 0; i < flat.length; i += 4) this.push(flat[i]!, flat[i + 1]!, flat[i + 2]!, flat[i + 3]!);
  }

  private grow(): void {
    const flat = this.save();
    const size = this.times.length * 2;
    this.times = new Float64Array(size);
    this.changes = new Int32Array(size);
    this.causes = new Int32Array(size);
    this.presets = new Float64Array(size);
    this.load(flat);
  }
}
