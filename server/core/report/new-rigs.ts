/** Rigs to start from, for `caisson new`: each without findings, with a requirement or two, to be changed. */

import { BENCH_RIG } from './bench-rig';

export const NEW_RIGS = {
  bench: BENCH_RIG,
  lock: `# A lock with a vent: gas is let into a small chamber between two doors and passed on when the inlet is shut; a switch relieves it.
rig lock "Lock with a vent" {
  medium air

  chamber header { volume 2 m3   pressure 1.4 bar }
  chamber cell   { volume 60 L   pressure 1.02 bar }
  chamber vessel { volume 800 L  pressure 1.02 bar }

  door inlet  { travel 250 ms }
  door outlet { travel 250 ms }
  door relief { travel 150 ms }

  stack header > inlet > cell > outlet > vessel
  stack cell > relief > atmosphere

  feed blower into header { rate 0.02 kg/s  only below 1.9 bar }

  controller { response 30 ms }

  switch run  = on
  switch vent = off
  sensor full on header { pressure above 1.6 bar  clears below 1.2 bar }

  signal venting   = TOF(vent, 500 ms)
  signal start     = run and full and not venting and not hold
  signal stroke    = TP(start, 4 s)
  signal inlet_on  = TP(stroke, 1.2 s)
  signal outlet_on = TP(TON(stroke, 1.9 s), 1.6 s)
  signal hold      = TOF(stroke, 4 s)
  signal relief_on = TON(vent and not stroke, 500 ms)

  drive inlet  = inlet_on
  drive outlet = outlet_on
  drive relief = relief_on

  require gap(inlet, outlet) >= 100 ms
  require never(inlet and relief)
  require repeat() in 8 s .. 9 s
}
`,
  lift: `# A lift for a liquid with two feeds: a door never closes on a full pocket, so the one below is always open first.
rig lift "Liquid lift with two feeds" {
  medium water

  chamber sump { volume 6 m3  level 0.5 m  floor_area 4 m2  tight liquid }
  chamber tank { volume 4 m3  level 0.4 m  floor_area 2 m2  tight liquid }

  door intake  { pocket 80 L  clearance 1 L  travel 700 ms  bore 200 mm }
  door transit { pocket 80 L  clearance 1 L  travel 700 ms  bore 200 mm }
  door outfall { pocket 80 L  clearance 1 L  travel 700 ms  bore 200 mm }

  stack sump > intake > transit > outfall > tank { tight liquid }

  feed spring into sump { rate 3 kg/s  only below 1.2 m }
  feed drain  into sump { rate 2 kg/s  only below 1.3 m }
  draw users  from tank { rate 4 kg/s  only above 0.3 m }

  controller { response 25 ms }

  switch run = on
  sensor full   on sump { level above 1 m    clears below 0.7 m }
  sensor topped on tank { level above 1.6 m  clears below 1.4 m }

  signal start      = run and full and not topped and not hold
  signal intake_on  = TOF(start, 2.8 s)
  signal start_seen = TOF(start, 5.2 s)
  signal transit_on = TOF(TON(start_seen, 1.9 s), 600 ms)
  signal outfall_on = TOF(TON(transit_on, 2.6 s), 2.2 s)
  signal hold       = TOF(start_seen, 6.5 s)

  drive intake  = intake_on
  drive transit = transit_on
  drive outfall = outfall_on

  require overlap(intake, transit) >= 100 ms
  require overlap(transit, outfall) >= 50 ms
  require gap(intake, outfall) >= 200 ms
  require never(intake and transit and outfall)
  require repeat() <= 16 s
}
`,
  pump: `# A pump with three doors: gas is passed on pocket by pocket, the two upper doors open together, the lower ones overlap.
rig pump "Gas pump with three doors" {
  medium methane

  chamber receiver { volume 5 m3    pressure 1.03 bar }
  chamber store    { volume 1.2 m3  pressure 1.03 bar  limit 8 bar }

  door upper  { pocket 180 L  travel 300 ms }
  door middle { pocket 180 L  travel 300 ms }
  door lower  { pocket 180 L  travel 300 ms }

  stack receiver > upper > middle > lower > store

  feed works  into receiver { rate 0.02 kg/s  only below 2 bar }
  draw burner from store    { rate 0.01 kg/s  only above 1.2 bar }

  controller { response 35 ms }

  switch run = on
  sensor ready  on receiver { pressure above 1.6 bar  clears below 1.3 bar }
  sensor topped on store    { pressure above 7 bar    clears below 6.5 bar }

  signal start     = run and ready and not topped and not hold
  signal upper_on  = TOF(start, 1.7 s)
  signal middle_on = TOF(start, 3.2 s)
  signal lower_on  = TOF(TON(middle_on, 2.4 s), 1.4 s)
  signal hold      = TOF(upper_on, 13 s)

  drive upper  = upper_on
  drive middle = middle_on
  drive lower  = lower_on

  require gap(upper, lower) >= 100 ms
  require overlap(upper, middle) >= 800 ms
  require overlap(middle, lower) >= 50 ms
  require repeat() in 14 s .. 17 s
}
`,
} as const;

export type NewRig = keyof typeof NEW_RIGS;
