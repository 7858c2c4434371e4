/** Numbers that come one by one, as many as there will be: kept in pieces, so that growing copies nothing, and joined once. */

const PIECE = 1 << 14;

export class Grown<A extends Float64Array | Int8Array> {
  private full: A[] = [];
  private last: A | null = null;
  private count = 0;
  private joined: A | null = null;

  constructor(private readonly make: (length: number) => A) {}

  push(value: number): void {
    const at = this.count++ % PIECE;
    if (at === 0) {
      if (this.last) this.full.push(this.last);
      this.last = this.make(PIECE);
    }
    this.last![at] = value;
  }

  /** All of them, in one array; nothing may be pushed any more. */
  get all(): A {
    return (this.joined ??= this.join());
  }

  private join(): A {
    const joined = this.make(this.count);
    this.full.forEach((piece, k) => joined.set(piece, k * PIECE));
    const rest = this.count - this.full.length * PIECE;
    if (this.last) joined.set(this.last.subarray(0, rest), this.full.length * PIECE);
    this.full = [];
    this.last = null;
    return joined;
  }
}

export const grownNumbers = (): Grown<Float64Array> => new Grown((n) => new Float64Array(n));
export const grownStates = (): Grown<Int8Array> => new Grown((n) => new Int8Array(n));
