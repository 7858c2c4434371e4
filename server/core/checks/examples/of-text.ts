/** Examples of the findings about the text itself: form, names, units, values and imports. See `examples.ts`. */
import type { Examples } from '../examples';

export const EXAMPLES_OF_TEXT: Examples = {
  'import/ambiguous': [['import "shared/vessel-times.rig"', '']],
  'import/circle': [['import "import-circle.rig"', '']],
  'import/missing': [['import "parts/common.rig"', 'import "shared/vessel-times.rig"']],
  'name/circle': [['  let pause  = 10 s - stroke', '  let pause  = 7 s']],
  'name/dotted': [
    ['  door spare.vent { pocket 5 L  travel 150 ms }', '  door spare_vent { pocket 5 L  travel 150 ms }'],
    ['  stack line > spare.vent > vessel', '  stack line > spare_vent > vessel'],
    ['  drive spare.vent = pulse', '  drive spare_vent = pulse'],
  ],
  'name/duplicate': [
    [
      '  switch vent = off\n  signal pulse = TP(charged, 2 s)',
      '  switch by_hand = off\n  signal pulse = TP(charged and not by_hand, 2 s)',
    ],
  ],
  // The letter is a Cyrillic one.
  'name/look-alike': [
    ['  let puls\u0435_length = 3 s', '  let late_length = 3 s'],
    ['  signal late  = TON(pulse, puls\u0435_length - 2.2 s)', '  signal late  = TON(pulse, late_length - 2.2 s)'],
  ],
  'name/unknown': [['  drive vent = puls', '  drive vent = pulse']],
  'name/unused': [['  signal trial = TP(charged, 3 s)', '']],
  'name/wrong-kind': [
    [
      '  sensor charged on vent { pressure above 1.4 bar  clears below 1.2 bar }',
      '  sensor charged on line { pressure above 1.4 bar  clears below 1.2 bar }',
    ],
  ],
  'syntax/character': [['  controller { response 20 ms }  ;', '  controller { response 20 ms }']],
  'syntax/expected': [['  signal hatch_on = TP(charged, )', '  signal hatch_on = TP(charged, 2 s)']],
  'syntax/misplaced-statement': [
    [
      'rig tank_filler "Tank filler" {\n  import "shared/vessel-times.rig"',
      'import "shared/vessel-times.rig"\nrig tank_filler "Tank filler" {',
    ],
  ],
  'syntax/name': [
    ['  signal not = charged', '  signal not_full = not charged'],
    ['  drive hatch = hatch_on', '  drive hatch = hatch_on and not not_full'],
  ],
  'syntax/number': [
    ['  chamber main { volume 2 m3  pressure 1,2 bar }', '  chamber main { volume 2 m3  pressure 1.2 bar }'],
  ],
  'syntax/operator': [
    ['  signal hatch_on = TP(charged && charged, 2 s)', '  signal hatch_on = TP(charged and charged, 2 s)'],
  ],
  'syntax/string': [['rig tank_filler "Tank \\filler" {', 'rig tank_filler "Tank \\\\filler" {']],
  'syntax/unclosed': [['  drive hatch = hatch_on', '  drive hatch = hatch_on\n}']],
  'syntax/unknown-property': [
    [
      '  door hatch { pocket 20 L  travel 200 ms  bore 80 mm  colour 3 }',
      '  door hatch { pocket 20 L  travel 200 ms  bore 80 mm }',
    ],
  ],
  'syntax/unknown-statement': [['  portal spare { travel 1 s }', '']],
  'syntax/unopened': [['  drive hatch = hatch_on\n}\n}', '  drive hatch = hatch_on\n}']],
  'unit/dimension': [['  door vent { pocket 5 cm  travel 150 ms }', '  door vent { pocket 5 L  travel 150 ms }']],
  'unit/missing': [['  door vent { pocket 5 L  travel 150 }', '  door vent { pocket 5 L  travel 150 ms }']],
  'unit/offset': [
    [
      '  sensor charged on line { pressure above 2 * working  clears below 1.2 bar }',
      '  sensor charged on line { pressure above working + 0.2 bar  clears below 1.2 bar }',
    ],
  ],
  'unit/unknown': [['  signal pulse = TP(charged, 2 sec)', '  signal pulse = TP(charged, 2 s)']],
  'value/arguments': [['  signal pulse = TP(charged)', '  signal pulse = TP(charged, 2 s)']],
  'value/conflict': [
    [
      '  sensor charged on line { pressure above 1.4 bar  clears below 1.6 bar }',
      '  sensor charged on line { pressure above 1.4 bar  clears below 1.2 bar }',
    ],
  ],
  'value/missing': [
    [
      '  sensor charged on line { min_on 1 s }',
      '  sensor charged on line { pressure above 1.4 bar  clears below 1.2 bar  min_on 1 s }',
    ],
  ],
  'value/no-effect': [['  signal pulse = TP(charged, 2 s) responds 5 ms', '  signal pulse = TP(charged, 2 s)']],
  'value/not-a-metric': [['  require cycle <= 5 s', '  require cycle() <= 5 s']],
  'value/not-a-quantity': [
    ['  signal pulse = TP(charged, TON(charged, 2 s))', '  signal pulse = TP(TON(charged, 2 s), 3 s)'],
  ],
  'value/not-a-signal': [['  signal pulse = TP(charged and 1.4 bar, 2 s)', '  signal pulse = TP(charged, 2 s)']],
  'value/out-of-range': [
    ['  chamber vessel { volume 200 L  pressure -1.2 barg }', '  chamber vessel { volume 200 L  pressure -0.2 barg }'],
  ],
  'value/repeated': [
    ['  door vent { pocket 5 L  travel 150 ms  travel 200 ms }', '  door vent { pocket 5 L  travel 150 ms }'],
  ],
  'value/step-order': [['    repeat after 2 s', '    repeat after 4 s']],
  'value/too-fine': [['  signal pulse = TP(charged, 1 s / 3)', '  signal pulse = TP(charged, 1.2 s / 3)']],
  'value/too-large': [['  place wall_side = row_65536(all)', '  place wall_side = row_8(all)']],
  'value/zero-division': [['  let rate = 0.1 m3/s +- 100 %', '  let rate = 0.1 m3/s +- 20 %']],
};
