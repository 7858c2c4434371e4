/** What the parts of an exported C program share. */
import type { Rig } from '../../model/rig';
import type { Identifiers } from './identifiers';
import type { Output } from './outputs';

/** Changes that one element may have under way in its response; more than any rig here needs, and a fault beyond it. */
export const QUEUE = 16;

export interface Parts {
  readonly rig: Rig;
  readonly names: Identifiers;
  readonly name: string;
  readonly macro: string;
  /** Nets of switches and sensors. */
  readonly inputs: readonly number[];
  readonly outputs: readonly Output[];
}

/** Arrays of C have at least one member. */
export const atLeastOne = (count: number) => Math.max(1, count);
