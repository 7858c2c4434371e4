/**
 * What beginners type: each mistake has exactly one message, where it was made, and a fix where only one thing can be meant. The whole of
 * `caisson check` is asked, so that nothing that follows from a mistake stands beside it.
 */
import { describe, expect, it } from 'vitest';
import { run } from './run';

const SOUND = `rig press "Wash press" {
  medium air

  let settle = 1.8 s

  chamber inlet { volume 2 m3    pressure 1.02 bar }
  chamber tank  { volume 400 L   pressure 1.02 bar  limit 6 bar }

  door first  { pocket 12 L  clearance 300 mL  travel 250 ms }
  door second { pocket 12 L  clearance 300 mL  travel 250 ms }
  door third  { pocket 12 L  clearance 300 mL  travel 250 ms }

  stack inlet > first > second > third > tank

  feed blower into inlet { rate 8 g/s  only below 1.9 bar }
  draw wash   from tank  { rate 6 g/s  only above 1.2 bar }

  controller { response 25 ms }

  switch run = on
  sensor ready on inlet { pressure above 1.5 bar  clears below 1.3 bar }
  sensor full  on tank  { pressure above 5 bar    clears below 4.5 bar }

  signal start     = run and ready and not full and not hold
  signal first_on  = TOF(start, settle)
  signal second_on = TOF(start, 3.1 s)
  signal third_on  = TOF(TON(second_on, 2.4 s), 1.3 s)
  signal hold      = TOF(first_on, 8 s)

  drive first  = first_on
  drive second = second_on
  drive third  = third_on

  require overlap(first, second) >= 1.2 s
  require overlap(second, third) >= 50 ms
  require gap(first, third) >= 100 ms
  require repeat() <= 12 s
}
`;

/** A fix that gives back what stood there (`true`), another text, or none that is certain (`null`). */
type Fixed = true | string | null;

const TABLE: readonly [was: string, slip: string, message: string, fixed: Fixed][] = [
  // Numbers and units.
  ['1.02 bar  limit', '1,02 bar  limit', 'Decimals are written with a point, not a comma.', true],
  ['400 L', '400 l', 'l is not a known unit. Did you mean L?', true],
  ['400 L', '400 litres', 'litres is not a known unit. Did you mean L?', true],
  ['6 bar', '6 Bar', 'Bar is not a known unit. Did you mean bar?', true],
  ['3.1 s', '3.1 sec', 'sec is not a known unit. Did you mean s?', true],
  ['8 g/s', '8 g/sec', 'g/sec is not a known unit. Did you mean g/s?', true],
  ['8 g/s', '8 g / s', 'A unit is written without blanks inside: g/s.', true],
  ['3.1 s', '3.1', '3.1 has no unit; a time is needed here, such as 3.1 s.', null],
  ['100 ms', '100', 'gap gives a time; what it is compared with has no unit, such as s.', null],
  ['3.1 s', '2 bar', '2 bar is a pressure; a time is needed here.', null],
  ['1.02 bar  limit', '1.02 kg  limit', '1.02 kg is a mass; a pressure is needed here.', null],
  // Statements.
  ['  chamber tank', '  chmaber tank', 'chmaber is not a statement; did you mean chamber?', true],
  ['  controller', '  controler', 'controler is not a statement; did you mean controller?', true],
  [
    '  let settle',
    '  settle',
    'Expected a statement; for a constant write let settle =, for a signal signal settle =.',
    null,
  ],
  ['  require gap(first', '  gap(first', 'Expected a statement; for a requirement write require gap(…).', true],
  ['let settle = 1.8', 'let settle 1.8', 'Expected = after settle, not 1.8.', true],
  ['switch run = on', 'switch run on', 'Expected = after run, not on.', true],
  ['switch run = on', 'switch run { on }', 'Expected = after run, not {: write = on.', true],
  ['switch run = on', 'switch run = 1', 'A switch starts on or off, not 1.', true],
  ['switch run = on', 'switch run = true', 'Write on instead of true.', true],
  ['drive first  = first_on', 'drive first first_on', 'Expected = after first, not first_on.', true],
  [
    'drive first  = first_on',
    'drive first_on = first',
    'A drive names first what is driven, then what drives it: drive first = first_on.',
    true,
  ],
  ['medium air', 'medium = air', 'A medium is written without =: medium air.', true],
  ['medium air', 'medium Air', 'No medium is called Air. Did you mean air?', true],
  ['rig press "Wash', 'rig "Wash', 'Expected a name for the rig before "Wash press".', 'rig wash_press "Wash'],
  ['into inlet', 'to inlet', 'Expected into after blower, not to.', true],
  ['ready on inlet', 'ready in inlet', 'Expected on after ready, not in.', true],
  ['ready on inlet', 'ready on first', 'first is a door; a chamber is needed here.', null],
  // Properties.
  ['limit 6 bar', 'limit = 6 bar', 'A property has no =; write its value after a blank.', true],
  ['limit 6 bar', 'limit: 6 bar', 'A property has no :; write its value after a blank.', true],
  [
    'travel 250 ms }\n  door second',
    'travle 250 ms }\n  door second',
    'door has no property travle; did you mean travel?',
    true,
  ],
  [
    'first  { pocket 12 L  clearance 300 mL  travel',
    'first  { pocket 12 L, clearance 300 mL, travel',
    'No , is needed here: properties are separated by blanks or new lines.',
    true,
  ],
  [
    'first  { pocket 12 L  clearance 300 mL  travel 250 ms }',
    'first  ( pocket 12 L  clearance 300 mL  travel 250 ms )',
    'The properties of a door stand in braces { }, not in parentheses.',
    true,
  ],
  [
    'first  { pocket 12 L  clearance 300 mL  travel 250 ms }',
    'first  pocket 12 L  clearance 300 mL  travel 250 ms',
    'The properties of a door stand in braces, as in { pocket … }.',
    true,
  ],
  ['pressure above 1.5', 'pressure > 1.5', 'Expected above or below after pressure, not >.', true],
  // The stack.
  [
    'inlet > first > second > third > tank',
    'inlet, first, second, third, tank',
    'The members of a stack are written with > between them, in the order of flow.',
    true,
  ],
  [
    'inlet > first > second > third > tank',
    'inlet first second third tank',
    'The members of a stack are written with > between them, in the order of flow.',
    true,
  ],
  [
    'inlet > first > second > third > tank',
    'inlet - first - second - third - tank',
    'The members of a stack are written with > between them, in the order of flow.',
    true,
  ],
  ['second > third', 'second > thrid', 'Nothing here is called thrid. Did you mean third?', true],
  // Signals.
  ['run and ready', 'run && ready', 'Write and instead of &&.', true],
  ['run and ready', 'run AND ready', 'Write and instead of AND.', true],
  ['run and ready', 'run, ready', 'Expected and or or between run and ready, not a comma.', null],
  ['run and ready', 'run ready', 'An operator is missing between run and ready: and, or, xor.', null],
  [
    'run and ready and',
    'run and ready is on and',
    'A name alone stands for on, that of a door for not shut: write ready.',
    true,
  ],
  ['not full', 'full = off', 'A name alone stands for on, that of a door for not shut: write not full.', true],
  ['not full', 'full is off', 'A name alone stands for on, that of a door for not shut: write not full.', true],
  ['not full', 'full off', 'A name alone stands for on, that of a door for not shut: write not full.', true],
  ['TOF(start,', 'TOF(start == on,', 'A name alone stands for on, that of a door for not shut: write start.', true],
  ['and not full', 'and !full', 'Write not instead of !.', true],
  ['TOF(start, settle)', 'TOF(settle, start)', 'TOF takes IN, then PT: write TOF(start, settle).', true],
  ['TOF(start, settle)', 'TOF(start settle)', 'A comma is missing between start and settle.', true],
  ['TOF(start, settle)', 'TOF start, settle', 'The inputs of TOF stand in parentheses: TOF(start, …).', true],
  ['TOF(start, settle)', 'tof(start, settle)', 'tof is not a timer, edge, latch or counter. Did you mean TOF?', true],
  ['TOF(start, settle)', 'TOF(start, settle', 'This parenthesis is not closed; add a ).', true],
  [
    '= first_on\n  drive second',
    '= frist_on\n  drive second',
    'Nothing here is called frist_on. Did you mean first_on?',
    true,
  ],
  ['  signal first_on ', '  signal first-on ', 'The name of a signal has no hyphens; write first_on.', true],
  // Requirements, texts, comments.
  ['100 ms\n', '100 ms;\n', 'The character ; has no meaning here.', true],
  ['>= 100 ms', '=> 100 ms', 'Write >= instead of =>.', true],
  [
    'repeat() <=',
    'repeat <=',
    'repeat is not a metric; one is written with its arguments in parentheses, such as repeat().',
    true,
  ],
  ['gap(first', 'Gap(first', 'There is no metric Gap. Did you mean gap?', true],
  ['"Wash press"', "'Wash press'", 'A text is written in straight double quotes: "Wash press".', true],
  ['medium air', 'medium air  // dry', 'A comment begins with #, not //.', 'medium air  # dry'],
];

interface Found {
  readonly code: string;
  readonly severity: string;
  readonly start: { readonly line: number; readonly column: number };
  readonly message: string;
}

const problemsOf = async (text: string): Promise<Found[]> => {
  const { out } = await run(['check', '--format', 'json', 'it.rig'], { 'it.rig': text });
  return (JSON.parse(out) as { findings: Found[] }).findings.filter(({ severity }) => severity !== 'hint');
};
const blanks = (text: string): string => text.replace(/ +/g, ' ');

describe('typing mistakes', () => {
  it('are made in a sound rig, each of its own', async () => {
    expect(await problemsOf(SOUND)).toEqual([]);
    expect(new Set(TABLE.map(([, slip]) => slip)).size).toBeGreaterThan(50);
  });

  it.each(TABLE.map(([was, slip, message, fixed]) => ({ was, slip, message, fixed })))(
    '$slip',
    async ({ was, slip, message, fixed }) => {
      const start = SOUND.indexOf(was);
      expect(start).toBeGreaterThan(-1);
      const text = SOUND.replace(was, () => slip);
      const found = await problemsOf(text);
      expect(found.map((f) => f.message)).toEqual([message]);

      const { line, column } = found[0]!.start;
      const at =
        text
          .split('\n')
          .slice(0, line - 1)
          .join('\n').length + column;
      expect([at >= start - 6, at <= start + slip.length], `${line}:${column}`).toEqual([true, true]);

      const { written } = await run(['check', '--fix-all', 'it.rig'], { 'it.rig': text });
      const after = [...written.values()][0];
      if (fixed === null) {
        expect(after).toBeUndefined();
        return;
      }
      expect(blanks(String(after))).toBe(blanks(fixed === true ? SOUND : SOUND.replace(was, () => fixed)));
      return expect(await problemsOf(String(after))).toEqual([]);
    },
  );
});
