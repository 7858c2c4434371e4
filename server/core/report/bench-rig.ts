/** The rig that `caisson new bench` and *Rig: New* start from. */
export const BENCH_RIG = `# A small bench rig: three doors pump compressed air from a receiver into a store.
rig bench "Bench rig, compressed air" {
  medium air

  chamber receiver { volume 200 L  pressure 1.02 bar }
  chamber store    { volume 50 L   pressure 1.02 bar  limit 6 bar }

  door upper  { pocket 5 L  clearance 100 mL  travel 200 ms }
  door middle { pocket 5 L  clearance 100 mL  travel 200 ms }
  door lower  { pocket 5 L  clearance 100 mL  travel 200 ms }

  stack receiver > upper > middle > lower > store

  feed compressor into receiver { rate 0.001 kg/s  only below 1.8 bar }

  controller { response 20 ms }

  switch run = on
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.2 bar }
  sensor full  on store    { pressure above 5 bar    clears below 4.5 bar }

  signal start     = run and ready and not full and not hold
  signal upper_on  = TOF(start, 1 s)
  signal middle_on = TOF(start, 1.9 s)
  signal lower_on  = TOF(TON(middle_on, 1.45 s), 800 ms)
  signal hold      = TOF(middle_on, 3.5 s)

  drive upper  = upper_on
  drive middle = middle_on
  drive lower  = lower_on

  require overlap(upper, middle) >= 500 ms
  require overlap(middle, lower) >= 50 ms
  require gap(upper, lower) >= 100 ms
  require repeat() in 5 s .. 6 s
}
`;
