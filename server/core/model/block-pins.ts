/** Names of the inputs of the standard function blocks, as IEC 61131-3 has them, in the order of `Element.inputs`. */
import type { BlockKind } from './rig';

export const BLOCK_PINS: Readonly<Record<Exclude<BlockKind, 'LOGIC'>, readonly string[]>> = {
  TON: ['IN'],
  TOF: ['IN'],
  TP: ['IN'],
  R_TRIG: ['CLK'],
  F_TRIG: ['CLK'],
  SR: ['S1', 'R'],
  RS: ['S', 'R1'],
  CTU: ['CU', 'R'],
};
