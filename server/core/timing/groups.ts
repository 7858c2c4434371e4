/**
 * Independent groups of a control network. Inputs held, two groups that share nothing but inputs never influence each other, so each may
 * repeat at an interval of its own; comparing the state of all together would wait for the least common multiple.
 *
 * Found by joining sets (union-find): an element joins the nets it reads, except inputs, which carry no influence back; drives of one door
 * join, because the door opens while any of them is on. Only elements within `within` count: a lamp's oscillator must not keep a rig from
 * being at rest.
 */
import { doorDrives, inputsOf } from '../model/logic';
import type { Rig } from '../model/rig';
import type { Part } from './program';

/** Elements that depend on each other, with the doors they drive. */
export interface Group extends Part {
  readonly doors: readonly number[];
}

export interface Grouping {
  readonly groups: readonly Group[];
  /** Number of the group of each net, -1 for inputs and for what drives nothing. */
  readonly groupOf: Int32Array;
}

/**
 * Sets that grow together: a forest of parents, each root standing for its set. Paths are halved while climbing, which alone bounds the
 * cost of m steps over n sets by O(m log n) (Tarjan & van Leeuwen, J. ACM 31, 1984); ranks would not pay at this size.
 */
class Union {
  private readonly parent: Int32Array;
  constructor(size: number) {
    this.parent = Int32Array.from({ length: size }, (_, i) => i);
  }
  root(of: number): number {
    let at = of;
    while (this.parent[at] !== at) at = this.parent[at] = this.parent[this.parent[at]!]!;
    return at;
  }
  join(a: number, b: number): void {
    this.parent[this.root(a)] = this.root(b);
  }
}

/** Groups of the part `within` of a rig's network, in order of their first net. */
export function groupsOf(rig: Rig, within: Part): Grouping {
  const { nets, elements } = rig.network;
  const union = new Union(nets.length);
  for (const e of within.elements) {
    const element = elements[e]!;
    for (const from of inputsOf(element)) if (nets[from]!.kind === 'element') union.join(from, element.net);
  }
  const drives = doorDrives(rig);
  const firstDrive = new Map<number, number>();
  for (const { net, target } of drives) {
    // The first drive of the same door suffices: all others are joined to it.
    const first = firstDrive.get(target);
    if (first === undefined) firstDrive.set(target, net);
    else union.join(net, first);
  }
  const members = new Map<number, number[]>();
  for (const e of within.elements) {
    const root = union.root(elements[e]!.net);
    const list = members.get(root);
    if (list) list.push(e);
    else members.set(root, [e]);
  }
  const groupOf = new Int32Array(nets.length).fill(-1);
  const lists = [...members.values()];
  lists.forEach((list, number) => list.forEach((e) => (groupOf[elements[e]!.net] = number)));
  const doors = lists.map(() => new Set<number>());
  for (const { net, target } of drives) doors[groupOf[net]!]?.add(target);
  const groups = lists.map((list, number): Group => ({
    nets: Int32Array.from(list, (e) => elements[e]!.net),
    elements: Int32Array.from(list),
    owner: groupOf,
    number,
    doors: [...doors[number]!].sort((a, b) => a - b),
  }));
  return { groups, groupOf };
}
