/**
 * A mill of two doors. The outlet opens `wait` after the trigger, and the inlet is shut after 1.92 s: opened earlier, it makes a path
 * straight through.
 */
export const mill = (wait: string, requirement: string): string => `rig mill {
  medium air
  chamber hopper { volume 1.2 m3  pressure 1.05 bar }
  chamber store  { volume 4 m3    pressure 1.4 bar }
  door inlet  { pocket 30 L  bore 80 mm  travel 320 ms }
  door outlet { pocket 20 L  bore 80 mm  travel 450 ms }
  stack hopper > inlet > outlet > store
  switch go = off
  drive inlet  = TP(go, 1600 ms)
  drive outlet = TP(TON(go, ${wait}), 1400 ms)
  require ${requirement}
}
`;
