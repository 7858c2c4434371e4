/** Examples of the findings about what the rig does. See `examples.ts`. */
import type { Examples } from '../examples';

export const EXAMPLES_OF_RIG: Examples = {
  'cycle/never-ends': [['  signal running = SR(charged, off)', '  signal running = SR(charged, not charged)']],
  'cycle/never-starts': [['  signal go    = dusty and full', '  signal go    = dusty and not full']],
  'cycle/not-worked-out': [
    ['  signal blink  = TON(not blink, 883 ms)', '  signal blink  = TON(not blink, 2.9 s)'],
    ['  signal beat   = TON(not beat, 907.001 ms)', '  signal beat   = TOF(blink, 600 ms)'],
  ],
  'cycle/overrun': [['  signal hold      = TOF(middle_on, 800 ms)', '  signal hold      = TOF(middle_on, 8 s)']],
  'cycle/repeat-differs': [
    [
      '  require gap(upper, lower) >= 100 ms',
      '  require gap(upper, lower) >= 100 ms\n  require repeat() in 15.5 s .. 16.5 s',
    ],
  ],
  'door/at-power-on': [
    ['  drive inner = TP(F_TRIG(pause), 5 s)', '  drive inner = TP(TON(pause and not outer_on, 1.6 s), 5 s)'],
  ],
  'door/left-open': [['  signal drain_on = not draining', '  signal drain_on = draining']],
  'door/never-opens': [
    [
      '  signal hall_on   = TP(TON(yard_on, 1 s) and not yard_busy, 6 s)',
      '  signal hall_on   = TP(pause and not yard_busy, 6 s)',
    ],
  ],
  'door/off-sequence': [
    ['    at 2.6 s   open lower', '    at 2.55 s  open lower'],
    ['    at 4.15 s  close lower', '    at 4.65 s  close lower'],
  ],
  'door/overlap': [
    ['  signal lower_on  = TOF(TON(middle_on, 2.05 s), 2 s)', '  signal lower_on  = TOF(TON(middle_on, 2.45 s), 2 s)'],
  ],
  'door/straight-through': [
    ['  signal hall_on = TOF(TON(passing, 2 s), 500 ms)', '  signal hall_on = TOF(TON(passing, 4 s), 500 ms)'],
  ],
  'door/too-short': [
    ['  signal outlet_on = TOF(TON(seen, 2 s), 200 ms)', '  signal outlet_on = TOF(TON(seen, 2 s), 900 ms)'],
  ],
  'door/trapped-pocket': [
    ['  signal transit_on = TOF(start, 4.5 s)', '  signal transit_on = TOF(start, 5.4 s)'],
    ['  signal outfall_on = TOF(TON(lifting, 6 s), 2 s)', '  signal outfall_on = TOF(TON(lifting, 4 s), 2 s)'],
    ['  require repeat() <= 15 s', '  require repeat() <= 15 s\n  require overlap(transit, outfall) >= 500 ms'],
  ],
  'flow/cannot-keep-up': [
    [
      '  feed digester into receiver { rate 27 g/s }',
      '  feed digester into receiver { rate 15 g/s }\n  draw burner from store { rate 18 g/s  only above 1.2 bar }',
    ],
  ],
  'flow/force': [
    [
      '  door lower   { pocket 60 L  clearance 3 L  travel 400 ms  bore 200 mm  thrust 3 kN }',
      '  door lower   { pocket 60 L  clearance 3 L  travel 400 ms  bore 200 mm  thrust 9 kN }',
    ],
  ],
  'flow/leak': [
    [
      '  chamber store     { volume 1.5 m3  pressure 1.02 bar  tight liquid }',
      '  chamber store     { volume 1.5 m3  pressure 1.02 bar  tight gas }',
    ],
  ],
  'flow/over-limit': [
    [
      '  signal start     = run and ready and not hold',
      '  sensor full  on store    { pressure above 5.4 bar  clears below 5.1 bar }\n  signal start     = run and ready and not hold and not full',
    ],
  ],
  'flow/over-supply': [['  supply { limit 250 kW }', '  supply { limit 300 kW }']],
  'flow/overflow': [
    ['  feed washer into pit { rate 6 kg/s }', '  feed washer into pit { rate 6 kg/s  only below 0.7 m }'],
  ],
  'flow/reverse': [
    ['  stack receiver > upper > middle > lower > store', '  stack receiver > lower > middle > upper > store'],
  ],
  'flow/short-fill': [
    [
      '  door upper   { pocket 250 L  clearance 10 L  travel 300 ms  bore 25 mm }',
      '  door upper   { pocket 250 L  clearance 10 L  travel 300 ms  bore 250 mm }',
    ],
    [
      '  door middle  { pocket 250 L  clearance 10 L  travel 300 ms  bore 25 mm }',
      '  door middle  { pocket 250 L  clearance 10 L  travel 300 ms  bore 250 mm }',
    ],
    [
      '  door lower   { pocket 250 L  clearance 10 L  travel 300 ms  bore 25 mm }',
      '  door lower   { pocket 250 L  clearance 10 L  travel 300 ms  bore 250 mm }',
    ],
  ],
  'flow/squeezed': [
    [
      '  door upper   { pocket 60 L  clearance 3 L  travel 400 ms  bore 18 mm }',
      '  door upper   { pocket 60 L  clearance 3 L  travel 400 ms  bore 150 mm }',
    ],
    [
      '  door middle  { pocket 60 L  clearance 3 L  travel 400 ms  bore 18 mm }',
      '  door middle  { pocket 60 L  clearance 3 L  travel 400 ms  bore 150 mm }',
    ],
    [
      '  door lower   { pocket 60 L  clearance 3 L  travel 400 ms  bore 18 mm }',
      '  door lower   { pocket 60 L  clearance 3 L  travel 400 ms  bore 150 mm }',
    ],
  ],
  'flow/stalls': [
    [
      '  door upper   { pocket 250 L  clearance 80 L  travel 300 ms }',
      '  door upper   { pocket 250 L  clearance 20 L  travel 300 ms }',
    ],
    [
      '  door middle  { pocket 250 L  clearance 80 L  travel 300 ms }',
      '  door middle  { pocket 250 L  clearance 20 L  travel 300 ms }',
    ],
    [
      '  door lower   { pocket 250 L  clearance 80 L  travel 300 ms }',
      '  door lower   { pocket 250 L  clearance 20 L  travel 300 ms }',
    ],
  ],
  'flow/temperature': [
    [
      '  chamber high  { volume 1 m3  pressure 4 bar  limit 60 degC }',
      '  chamber high  { volume 1 m3  pressure 4 bar  limit 60 degC  cools_in 20 s }',
    ],
  ],
  'flow/value': [['  stack receiver > upper > middle > lower', '  stack receiver > upper > middle > lower > store']],
  'loss/power': [
    [
      '  door yard_door  { pocket 40 L  travel 800 ms  rest open }',
      '  door yard_door  { pocket 40 L  travel 800 ms  rest closed }',
    ],
    [
      '  door hall_door  { pocket 40 L  travel 800 ms  rest open }',
      '  door hall_door  { pocket 40 L  travel 800 ms  rest closed }',
    ],
  ],
  'loss/switch': [['  signal ended      = run and F_TRIG(lifting)', '  signal ended      = F_TRIG(lifting)']],
  'loss/vents': [['  drive inner = inner_on', '  drive inner = inner_on or purge']],
  'require/arguments': [
    ['  require gap(inlet) >= 1 s', '  require opens_at(inlet) <= 1 s'],
    ['  require window(inlet) >= 2 bar', '  require window(inlet) >= 1.6 s'],
  ],
  'require/failed': [
    [
      '  signal lower_on  = TOF(TON(middle_on, 2.45 s), 1.3 s)',
      '  signal lower_on  = TOF(TON(middle_on, 2.6 s), 1.3 s)',
    ],
  ],
  'require/refuted': [
    [
      '  signal flap_on  = wanted and not late',
      '  signal flap_on  = TON(wanted and not late and not TOF(slide_on, 1 s), 200 ms)',
    ],
  ],
  'require/tolerance': [['  require gap(upper, lower) >= 240 ms', '  require gap(upper, lower) >= 120 ms']],
  'require/undecided': [['  require gap(inlet, vent) >= 1 s', '  require never(inlet and vent)']],
  'sensor/chatter': [
    [
      '  sensor ready on receiver { pressure above 1.5 bar }',
      '  sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }',
    ],
  ],
  'sensor/inverted': [
    [
      '  sensor ready on receiver { pressure below 1.3 bar  clears above 1.5 bar }',
      '  sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }',
    ],
  ],
  'timer/never-ends': [
    ['  signal hold      = TOF(upper_on or hold, 14 s)', '  signal hold      = TOF(upper_on, 14 s)'],
  ],
  'timer/never-fires': [
    [
      '  signal lower_on  = TOF(TON(middle_on, 3.3 s), 1.3 s)',
      '  signal lower_on  = TOF(TON(middle_on, 2.45 s), 1.3 s)',
    ],
    [
      '  require repeat() in 15 s .. 18 s',
      '  require repeat() in 15 s .. 18 s\n  require overlap(middle, lower) >= 50 ms',
    ],
  ],
  'timer/retriggered': [
    ['  signal lamp      = TOF(inlet_on or outlet_on, 2 s)', '  signal lamp      = TOF(inlet_on or outlet_on, 600 ms)'],
  ],
  'timer/thin-margin': [
    ['  signal lower_on  = TOF(TON(pushing, 3.2 s), 1.3 s)', '  signal lower_on  = TOF(TON(pushing, 2.9 s), 1.3 s)'],
  ],
  'wire/loop-never-settles': [
    ['  signal hall_free = yard_free responds 0 s', '  signal hall_free = TOF(TON(yard_free, 12 s), 12 s)'],
  ],
  'wire/two-drivers': [['  drive vent = pulse\n  drive vent = by_hand', '  drive vent = pulse or by_hand']],
  'wire/undriven-door': [['  drive intake = intake_on', '  drive intake = intake_on\n  drive outfall = outfall_on']],
  'wire/unread-sensor': [
    ['  signal start      = full and not hold', '  signal start      = full and not header_full and not hold'],
  ],
};
