/** Texts that several tests of the server open. */

/** Two doors on one gas line; with zero-width margins nowhere, so that it is free of findings. */
export const SOUND = `# A parcel lock of a harbour store: two doors, one chamber after the other.
rig parcel_lock "Parcel lock" {
  medium air

  let dwell = 2 s

  chamber hall  { volume 4 m3   pressure 1.3 bar }
  chamber lobby { volume 500 L  pressure 1.02 bar }

  door inner { pocket 60 L  travel 400 ms  bore 200 mm }
  door outer { pocket 60 L  travel 400 ms  bore 200 mm }

  stack hall > inner > outer > lobby

  controller { response 50 ms }

  switch run = on
  sensor full on hall { pressure above 1.5 bar  clears below 1.2 bar }

  signal start    = run and full and not hold
  signal inner_on = TP(start, dwell)
  signal outer_on = TOF(TON(inner_on, 1 s), 3 s)
  signal hold     = TOF(inner_on, 12 s)

  drive inner = inner_on
  drive outer = outer_on

  require overlap(inner, outer) >= 100 ms
  require repeat() in 10 s .. 20 s
}
`;
