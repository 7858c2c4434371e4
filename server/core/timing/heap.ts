/**
 * Priority queue of numbered sources, each with at most one due time: the agenda of the event engine.
 *
 * Why a heap with positions: a timer that is cut off has to leave the queue. The usual alternative, leaving stale entries to be skipped
 * when they surface, lets a retriggered off-delay fill the queue and makes two equal states look different, which `columns.addKey` must not.
 */

/**
 * Binary heap over ids `0 … size-1` with change and removal by id, O(log n) each. Keys are whole microseconds; of equal keys the one
 * that stands first in `order` comes first, by default in order of the ids.
 *
 * Invariants: `heap[0 … count-1]` holds each entered id once, no child before its parent (`before`); `position[id]` is its place there,
 * −1 where it is not entered; `keys[id]` means something only while it is entered.
 */
export class Agenda {
  private readonly heap: Int32Array;
  private readonly position: Int32Array;
  private readonly keys: Float64Array;
  private readonly order: Int32Array;
  private count = 0;

  constructor(size: number, order: Int32Array = Int32Array.from({ length: size }, (_, id) => id)) {
    this.order = order;
    this.heap = new Int32Array(size);
    this.position = new Int32Array(size).fill(-1);
    this.keys = new Float64Array(size);
  }

  /** Earliest due time, `Infinity` when nothing is due. */
  get nextTime(): number {
    return this.count === 0 ? Infinity : this.keys[this.heap[0]!]!;
  }

  /** The source due first; only meaningful while `nextTime` is finite. */
  get nextId(): number {
    return this.heap[0]!;
  }

  has(id: number): boolean {
    return this.position[id]! >= 0;
  }

  dueTime(id: number): number {
    return this.keys[id]!;
  }

  /** Enters `id`, or moves it to another time. */
  set(id: number, time: number): void {
    let at = this.position[id]!;
    if (at < 0) {
      at = this.count++;
      this.keys[id] = time;
      this.siftUp(at, id);
      return;
    }
    const before = this.keys[id]!;
    this.keys[id] = time;
    // Only one direction can be wrong: the rest of the heap was in order.
    if (time < before) this.siftUp(at, id);
    else this.siftDown(at, id);
  }

  remove(id: number): void {
    const at = this.position[id]!;
    if (at < 0) return;
    this.position[id] = -1;
    const last = this.heap[--this.count]!;
    if (last === id) return;
    // The hole is filled with the last leaf, which may come from another branch: it can belong further up or further down.
    if (this.before(last, id)) this.siftUp(at, last);
    else this.siftDown(at, last);
  }

  clear(): void {
    for (let i = 0; i < this.count; i++) this.position[this.heap[i]!] = -1;
    this.count = 0;
  }

  /** Moves every due time by the same amount: order is kept, so the heap stays as it is. */
  shift(by: number): void {
    for (let i = 0; i < this.count; i++) this.keys[this.heap[i]!]! += by;
  }

  /** The array as it is, not only its set: a restored heap runs out in the same order, ties included. */
  save(): AgendaState {
    return { heap: this.heap.slice(0, this.count), keys: this.keys.slice() };
  }

  load(state: AgendaState): void {
    this.clear();
    this.heap.set(state.heap);
    this.keys.set(state.keys);
    this.count = state.heap.length;
    for (let i = 0; i < this.count; i++) this.position[this.heap[i]!] = i;
  }

  private before(a: number, b: number): boolean {
    const by = this.keys[a]! - this.keys[b]!;
    return by < 0 || (by === 0 && this.order[a]! < this.order[b]!);
  }

  /** Moves an id towards the root until its parent comes before it. */
  private siftUp(from: number, id: number): void {
    const { heap, position } = this;
    let at = from;
    // The hole moves, not the entry: each level costs one write instead of a swap.
    while (at > 0) {
      const parentAt = (at - 1) >> 1;
      const parent = heap[parentAt]!;
      if (this.before(parent, id)) break;
      heap[at] = parent;
      position[parent] = at;
      at = parentAt;
    }
    heap[at] = id;
    position[id] = at;
  }

  /** Moves an id towards the leaves until it comes before both children. */
  private siftDown(from: number, id: number): void {
    const { heap, position, count } = this;
    let at = from;
    for (;;) {
      let childAt = 2 * at + 1;
      if (childAt >= count) break;
      if (childAt + 1 < count && this.before(heap[childAt + 1]!, heap[childAt]!)) childAt++;
      const child = heap[childAt]!;
      if (this.before(id, child)) break;
      heap[at] = child;
      position[child] = at;
      at = childAt;
    }
    heap[at] = id;
    position[id] = at;
  }
}

export interface AgendaState {
  readonly heap: Int32Array;
  readonly keys: Float64Array;
}
