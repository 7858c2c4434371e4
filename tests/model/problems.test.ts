/** Each mistake gives one sentence at the right place, and nothing else. */
import { describe, expect, it } from 'vitest';
import { PROBLEM_CODES } from '../../server/core/model/problem-codes';
import { problemLines } from '../support/problem-lines';
import { resolveText } from '../support/rig';

const FRAME = `switch a = on
chamber c { volume 2 m3  pressure 1.2 bar }
chamber e { volume 1 m3 }
door d { travel 1 s }
feed f into c
`;
const inRig = (body: string): string => `rig r {\n${FRAME}${body}\n}`;

type Case = readonly [body: string, problem: string];

const IN_RIG: readonly Case[] = [
  // names
  ['drive d = aa', 'name/unknown "aa": Nothing here is called aa. Did you mean a?'],
  ['drive dd = a', 'name/unknown "dd": Nothing here is called dd. Did you mean d?'],
  ['signal x = TUN(a, 1 s)', 'name/unknown "TUN": TUN is not a timer, edge, latch or counter. Did you mean TON?'],
  ['medium watre', 'name/unknown "watre": No medium is called watre. Did you mean water?'],
  ['require order(d oponed)', 'syntax/expected "oponed": Expected a comma or ) after d, not oponed.'],
  ['require gap(d, e) >= 1 s during noon', 'name/unknown "noon": Nothing here is called noon.'],
  ['door a { travel 1 s }', 'name/duplicate "a": a is declared twice.'],
  ['sensor s on d { pressure above 2 bar }', 'name/wrong-kind "d": d is a door; a chamber is needed here.'],
  ['drive c = a', 'name/wrong-kind "c": c is a chamber; a door, a feed or a draw is needed here.'],
  ['signal x = d', 'name/wrong-kind "d": d is a door; a switch, a sensor or a signal is needed here.'],
  ['signal x = TON(a, d)', 'name/wrong-kind "d": d is a door; a quantity is needed here.'],
  ['drive a.d = a', 'name/wrong-kind "a": a is a switch; only a placed part has parts of its own.'],
  [
    'door x.y { travel 1 s }',
    'name/dotted "x.y": A declared name has no dot; dots reach into placed parts, as in gate.upper.',
  ],
  ['stack cc > d > e', 'name/unknown "cc": Nothing here is called cc. Did you mean c?'],
  ['stack c > d > d > e', 'syntax/expected "d": d is written twice in a row; one of them counts.'],
  ['stack c > d d > e', 'syntax/expected "d": d is written twice in a row; one of them counts.'],
  ['stack c > c > d > e', 'syntax/expected "c": c is written twice in a row; one of them counts.'],
  ['stack c > d > e > d > c', 'value/repeated "d": A door has one place in one stack, and d has its place already.'],
  [
    'stack c > d > e\nstack e > d > c',
    'value/repeated "d": A door has one place in one stack, and d has its place already.',
  ],
  [
    'draw z from c { only above -3 bar }',
    'value/out-of-range "-3 bar": A pressure must be above vacuum (0 bar absolute), not -3 bar.',
  ],
  ['let t = t + 1 s', 'name/circle "t": t is defined by itself: t → t.'],
  ['let t = u\nlet u = v\nlet v = t', 'name/circle "t": t is defined by itself: t → u → v → t.'],
  ['part p() {\nplace q = p()\n}\nplace z = p()', 'name/circle "p": The part p would contain itself: p → p.'],
  [
    'signal сycle = a\nsignal cycle = a',
    'name/look-alike "cycle": This cycle only looks like the сycle declared above: it has a letter of another script.',
  ],
  // units
  ['door z { travel 300 sec }', 'unit/unknown "sec": sec is not a known unit. Did you mean s?'],
  ['chamber z { volume 3 l }', 'unit/unknown "l": l is not a known unit. Did you mean L?'],
  ['door z { travel 300 }', 'unit/missing "300": 300 has no unit; a time is needed here, such as 300 s.'],
  ['let t = 1 s + 2', 'unit/missing "2": 2 has no unit; a time is needed here, such as 2 s.'],
  ['door z { travel 3 bar }', 'unit/dimension "3 bar": 3 bar is a pressure; a time is needed here.'],
  [
    'chamber z { limit 3 s }',
    'unit/dimension "3 s": 3 s is a time; a pressure, a density, a mass or a temperature is needed here.',
  ],
  ['let t = 1 s + 2 bar', 'unit/dimension "1 s + 2 bar": A pressure cannot be added to a time.'],
  ['let t = 1 s +- 2 bar', 'unit/dimension "1 s +- 2 bar": A pressure cannot be a tolerance of a time.'],
  ['door z { travel 1 s * 1 s }', 'unit/dimension "1 s * 1 s": 1 s * 1 s is a quantity in s2; a time is needed here.'],
  [
    'let t = 2 barg + 1 barg',
    'unit/offset "2 barg + 1 barg": 2 barg + 1 barg has no single meaning, because gauge pressures and degC count from a shifted zero; write it in bar or K.',
  ],
  // values
  [
    'door z { travel 0.5 us }',
    'value/too-fine "0.5 us": 0.5 us is not a whole number of microseconds, the finest time there is.',
  ],
  [
    'door z { travel 1 s / 3 }',
    'value/too-fine "1 s / 3": 1 s / 3 is 333333.333 us, not a whole number of microseconds, the finest time there is.',
  ],
  [
    'door z { travel 300 d * 1000000 }',
    'value/out-of-range "300 d * 1000000": 300 d * 1000000 is longer than the longest time there is, about 285 years.',
  ],
  ['door z { travel -1 s }', 'value/out-of-range "-1 s": A travel time must be 0 or more, not -1 s.'],
  ['chamber z { volume 0 L }', 'value/out-of-range "0 L": The volume of a chamber must be above 0, not 0 L.'],
  [
    'chamber z { pressure -1.1 barg }',
    'value/out-of-range "-1.1 barg": A pressure must be above vacuum (0 bar absolute), not -1.1 barg.',
  ],
  [
    'chamber z { temperature -300 degC }',
    'value/out-of-range "-300 degC": A temperature must be above absolute zero (-273.15 degC), not -300 degC.',
  ],
  [
    'stack c > d > e { moves 120 % }',
    'value/out-of-range "120 %": The fraction moved per stroke must be above 0 and at most 1 (100 %), not 120 %.',
  ],
  [
    'controller { timer_accuracy 100 % }',
    'value/out-of-range "100 %": A timer accuracy must be from 0 to below 100 %, not 100 %.',
  ],
  ['controller { scan 0 s }', 'value/out-of-range "0 s": A scan time must be above 0, not 0 s.'],
  ['feed z into c { rate 0 kg/s }', 'value/out-of-range "0 kg/s": A rate must be above 0, not 0 kg/s.'],
  [
    'signal x = TON(a, 10 ms +- 20 ms)',
    'value/out-of-range "10 ms +- 20 ms": A preset must be 0 or more, not 10 ms +- 20 ms.',
  ],
  ['signal x = CTU(a, a, 2.5)', 'value/out-of-range "2.5": A count is a whole number from 0 on without unit, not 2.5.'],
  ['signal x = CTU(a, a, 2 s)', 'unit/dimension "2 s": A count is a whole number from 0 on without unit, not 2 s.'],
  ['let t = 1 s / 0', 'value/zero-division "0": This divides by zero, or by a tolerance that reaches zero.'],
  [
    'door z { travel a and a }',
    'value/not-a-quantity "a and a": a and a is not a quantity; a number with its unit is needed.',
  ],
  [
    'signal x = 3 s',
    'value/not-a-signal "3 s": 3 s is not on or off; combine signals, switches and sensors with not, and, xor, or.',
  ],
  ['switch z = 1 s', 'value/not-a-signal "1 s": A switch starts on or off, not 1 s.'],
  [
    'require never(d and TON(a, 1 s))',
    'value/not-a-signal "TON(a, 1 s)": TON(a, 1 s) cannot stand in a condition; give it to a signal and name the signal here.',
  ],
  [
    'require repeat >= 1 s',
    'value/not-a-metric "repeat": repeat is not a metric; one is written with its arguments in parentheses, such as repeat().',
  ],
  ['signal x = TON(a)', 'value/arguments "(a)": TON takes 2 inputs (IN, PT), not 1.'],
  ['signal x = R_TRIG(a, 1 s)', 'value/arguments "(a, 1 s)": R_TRIG takes 1 input (CLK), not 2.'],
  [
    'sensor s on c { min_on 1 s }',
    'value/missing "s": The sensor s states nothing to watch, such as pressure above 1.5 bar.',
  ],
  [
    'medium slurry { density 3 kg/L }',
    'value/missing "slurry": The medium slurry must say what it is: gas, liquid or packed.',
  ],
  [
    'sequence q { at 0 s open d  at 1 s close d }',
    'value/missing "q": The sequence q drives its doors and needs to know when: sequence q on SIGNAL.',
  ],
  ['door z { travel 1 s  travel 2 s }', 'value/repeated "travel": travel is stated twice; the first one counts.'],
  [
    'controller { response 1 s }\ncontroller { response 2 s }',
    'value/repeated "controller": The controller is stated twice; the first one counts.',
  ],
  ['medium air\nmedium water', 'value/repeated "medium": The medium is stated twice; the first one counts.'],
  [
    'sensor s on c { pressure above 2 bar  density below 2 kg/m3 }',
    'value/repeated "density below 2 kg/m3": What the sensor watches is stated twice; the first one counts.',
  ],
  [
    'controller { response 1 ms  scan 10 ms }',
    'value/conflict "response 1 ms": A controller is either scanned or answers after a response; the scan counts.',
  ],
  [
    'door z { bore 10 mm  area 1 cm2 }',
    'value/conflict "bore 10 mm": The opening is stated twice, as bore and as area; the area counts.',
  ],
  [
    'door z { pocket 1 L  clearance 2 L }',
    'value/conflict "2 L": The clearance of z is larger than its pocket, of which it is a part.',
  ],
  [
    'sensor s on c { pressure above 2 bar  clears above 1 bar }',
    'value/conflict "1 bar": A sensor that comes on above a value clears below one.',
  ],
  [
    'sensor s on c { pressure above 2 bar  clears below 3 bar }',
    'value/conflict "3 bar": The sensor would clear while it comes on: the value to clear below is above the one to come on.',
  ],
  [
    'require repeat() in 3 s .. 2 s',
    'value/conflict "in 3 s .. 2 s": The low end of this range is above its high end.',
  ],
  [
    'sequence q on a { at 0 s open d  at 1 s open d  at 2 s close d }',
    'value/step-order "d": d is open already at this moment of the sequence.',
  ],
  ['sequence q on a { at 1 s close d }', 'value/step-order "d": d is not open at this moment of the sequence.'],
  ['sequence q on a { at 1 s open d }', 'value/step-order "d": The sequence opens d and never closes it.'],
  [
    'sequence q on a { at 1 s open d  at 3 s close d  repeat after 2 s }',
    'value/step-order "2 s": The sequence would repeat after 2 s, before its last step.',
  ],
  [
    'controller { scan 10 ms }\nsignal x = a responds 5 ms',
    'value/no-effect "5 ms": A scanned controller writes all signals once per scan; this response changes nothing.',
  ],
  [
    'scenario m { at 2 s feed f on  for 1 s }',
    'value/no-effect "at 2 s feed f on": This happens when the scenario is over.',
  ],
  [
    'scenario m { at 1 s feed f on  at 2 s feed f off  at 3 s feed f on }\ndrive f = a',
    'value/no-effect "at 1 s feed f on": f runs when its drive says so; a step can only shut it off and give it back, and here nothing shut it off. Turn what drives it.',
  ],
  ['scenario m { at 1 s f on }', 'syntax/expected "f": Say what f is, before its name: feed f.'],
  ['scenario m { at 1 s a off }', 'syntax/expected "a": Say what a is, before its name: switch a.'],
  ['scenario m { at 1 s g on }', 'syntax/expected "g": Say what g is, before its name: feed, draw, switch or sensor.'],
  [
    'require gap(d, e) > 1 kg * 1 kg',
    'unit/dimension "1 kg * 1 kg": 1 kg * 1 kg is of a dimension that the language has no name for.',
  ],
];

/** Whole files. */
const IN_FILE: readonly Case[] = [
  ['rig r {\n}\nrig r {\n}', 'name/duplicate "r": Two rigs are called r.'],
  ['let x = 1 s\nlet x = 2 s', 'name/duplicate "x": x is declared twice.'],
  ['import "gone.rig"', 'import/missing ""gone.rig"": The file gone.rig cannot be read.'],
  ['import "test.rig"', 'import/circle ""test.rig"": test.rig imports itself.'],
  ['part p(x) {\ndoor d { travel 1 bar }\n}', 'unit/dimension "1 bar": 1 bar is a pressure; a time is needed here.'],
  ['part p(x) {\n}\nrig r {\nplace q = p()\n}', 'value/arguments "p": The part p takes 1 (x), not 0.'],
  [
    'part p(go) {\nsignal s = go\n}\nrig r {\nplace q = p(2 s)\n}',
    'name/wrong-kind "2 s": This part needs a switch, a sensor or a signal for go, not a quantity.',
  ],
  [
    'part p(t) {\ndoor d { travel t }\n}\nrig r {\nplace q = p(2 bar)\n}',
    'unit/dimension "2 bar": 2 bar is a pressure; this part needs a time for t.',
  ],
];

describe('one mistake, one sentence, one place', () => {
  it.each(IN_RIG)('%s', (body, problem) => expect(problemLines(inRig(body))).toEqual([problem]));
  it.each(IN_FILE)('%s', (text, problem) => expect(problemLines(text)).toEqual([problem]));
});

describe('hints', () => {
  const hints = (text: string): string[] => resolveText(text).problems.filter((line) => line.startsWith('name/unused'));

  it('name constants, signals and parts that nothing uses, each once', () =>
    expect(hints('let u = 1 s\npart p() {\nsignal s = on\n}\nrig r {\nlet v = 2 s\nsignal x = on\n}')).toEqual([
      'name/unused at 1:5 "u": The constant u is never used.',
      'name/unused at 2:6 "p": The part p is never used.',
      'name/unused at 3:8 "s": The signal s is never used.',
      'name/unused at 6:5 "v": The constant v is never used.',
      'name/unused at 7:8 "x": The signal x is never used.',
    ]));

  it('leave alone what a file offers to others', () => expect(hints('let u = 1 s\npart p() {\n}')).toEqual([]));
});

describe('the table of codes', () => {
  const shownElsewhere = new Set([
    'name/unused',
    'value/too-large',
    'value/override',
    'value/overridden',
    'import/ambiguous',
  ]);
  const shown = [...IN_RIG, ...IN_FILE].map(([, problem]) => problem.slice(0, problem.indexOf(' ')));

  it('has each code once, with words', () => {
    const codes = PROBLEM_CODES.map((entry) => entry.code);
    expect(new Set(codes).size).toBe(codes.length);
    for (const { explanation, title } of PROBLEM_CODES) {
      expect(title.length).toBeGreaterThan(5);
      expect(explanation).toMatch(/\.\)?$/);
    }
  });

  it('has no code that never comes', () => {
    for (const { code } of PROBLEM_CODES) expect(shownElsewhere.has(code) || shown.includes(code), code).toBe(true);
  });
});
