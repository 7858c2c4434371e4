/** A lock whose doors a sequence moves: what `caisson wire` finds a control for. */
export const LOCK_PLAN = `rig lock {
  medium air
  chamber quay { volume 6 m3  pressure 1.1 bar }
  chamber hold { volume 2 m3  pressure 1 bar }
  door outer { pocket 10 L  travel 100 ms }
  door inner { pocket 10 L  travel 100 ms }
  stack quay > outer > inner > hold
  controller { response 40 ms }
  sensor ready on quay { pressure above 1.5 bar  clears below 1.3 bar }
  sequence plan on ready {
    at 0 s     open outer
    at 1.6 s   close outer
    at 2.1 s   open inner
    at 3.4 s   close inner
    repeat after 12 s
  }
}
`;
