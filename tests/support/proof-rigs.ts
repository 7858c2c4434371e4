/**
 * Rigs of the sizes that people build, for the measurements of the proof engine (tests/bench/proof-sizes.bench.ts) and, the smaller ones, its
 * tests. Each is one text with what varies put in.
 */

export interface LadderOptions {
  readonly doors: number;
  readonly sensors?: number;
  /** Tolerances of responses, presets and travels. */
  readonly loose?: boolean;
  /** Least on and off times of the sensors, a text such as `400 ms`. */
  readonly least?: string;
  readonly requires?: readonly string[];
}

const SENSORS = [
  'sensor ripe on silo { pressure above 2 bar  clears below 1.6 bar',
  'sensor full on tank { pressure above 5 bar  clears below 4.5 bar',
  'sensor cold on silo { pressure above 1.2 bar  clears below 1.1 bar',
];

/** A line of doors, each opened by the door before it: the last of one overlaps the next, those two apart never meet. */
export function ladder({ doors, sensors = 1, loose = false, least, requires = [] }: LadderOptions): string {
  const tolerance = (text: string): string => (loose ? ` +- ${text}` : '');
  const names = Array.from({ length: doors }, (_, k) => `d${k + 1}`);
  const held = least === undefined ? '' : `  min_on ${least}  min_off ${least}`;
  const conditions = ['run', 'ripe', 'not full', 'not cold'].slice(0, sensors + 1);
  const signals = names.map((name, k) =>
    k === 0 ? 'signal d1_on = TOF(start, 1.8 s)' : `signal ${name}_on = TOF(TON(d${k}_on, 1.4 s), 1.4 s)`,
  );
  const hold = doors === 1 ? 'd1_on' : `(d1_on or d${doors}_on)`;
  return [
    'rig ladder "Doors in a line" {',
    'medium air',
    'chamber silo { volume 5 m3  pressure 1.02 bar }',
    'chamber tank { volume 2 m3  pressure 1.02 bar }',
    ...names.map((name) => `door ${name} { pocket 40 L  travel 250 ms${tolerance('20 ms')}  bore 200 mm }`),
    `stack silo > ${names.join(' > ')} > tank`,
    `controller { response 40 ms${tolerance('8 ms')}${loose ? '  timer_accuracy 2 %' : ''} }`,
    'switch run = on',
    ...SENSORS.slice(0, sensors).map((text) => `${text}${held} }`),
    `signal start = ${conditions.join(' and ')} and not hold`,
    ...signals,
    `signal hold = TOF(${hold}, ${8 + 2 * doors} s)`,
    ...names.map((name) => `drive ${name} = ${name}_on`),
    ...requires.map((text) => `require ${text}`),
    '}',
  ].join('\n');
}

/** Doors that all hang on one off-delayed trigger, each for a time of its own: the last closes before the hold-off ends. */
export function fan({ doors, sensors = 1, loose = false, least, requires = [] }: LadderOptions): string {
  const tolerance = (text: string): string => (loose ? ` +- ${text}` : '');
  const names = Array.from({ length: doors }, (_, k) => `d${k + 1}`);
  const held = least === undefined ? '' : `  min_on ${least}  min_off ${least}`;
  const conditions = ['run', 'ripe', 'not full', 'not cold'].slice(0, sensors + 1);
  const signals = names.map((name, k) =>
    k === 0
      ? `signal d1_on = TP(seen, 1.2 s${tolerance('40 ms')})`
      : `signal ${name}_on = TP(TON(seen, ${(k * 0.9).toFixed(1)} s${tolerance('40 ms')}), 1.2 s${tolerance('40 ms')})`,
  );
  return [
    'rig fan "Doors on one trigger" {',
    'medium air',
    'chamber silo { volume 5 m3  pressure 1.02 bar }',
    'chamber tank { volume 2 m3  pressure 1.02 bar }',
    ...names.map((name) => `door ${name} { pocket 40 L  travel 200 ms${tolerance('20 ms')}  bore 200 mm }`),
    `stack silo > ${names.join(' > ')} > tank`,
    `controller { response 20 ms${tolerance('5 ms')} }`,
    'switch run = on',
    ...SENSORS.slice(0, sensors).map((text) => `${text}${held} }`),
    `signal go = ${conditions.join(' and ')} and not hold`,
    `signal seen = TOF(go, ${2 * doors + 1} s)`,
    'signal hold = TOF(seen, 4 s)',
    ...signals,
    ...names.map((name) => `drive ${name} = ${name}_on`),
    ...requires.map((text) => `require ${text}`),
    '}',
  ].join('\n');
}

/** Two stages, each with a trigger of its own, that share the chamber between them. `linked`: the second waits until the first is over. */
export function stages({
  doors,
  loose = false,
  least,
  linked,
}: {
  readonly doors: readonly [number, number];
  readonly loose?: boolean;
  readonly least?: string;
  readonly linked: boolean;
}): string {
  const tolerance = (text: string): string => (loose ? ` +- ${text}` : '');
  const held = least === undefined ? '' : `  min_on ${least}  min_off ${least}`;
  const names = doors.map((count, s) => Array.from({ length: count }, (_, k) => `${'ab'[s]}${k + 1}`));
  const stage = (letter: string, condition: string, count: number): string[] => [
    `signal ${letter}_start = ${condition} and not ${letter}_hold`,
    ...Array.from({ length: count }, (_, k) =>
      k === 0
        ? `signal ${letter}1_on = TOF(${letter}_start, 1.8 s)`
        : `signal ${letter}${k + 1}_on = TOF(TON(${letter}${k}_on, 1.4 s), 1.4 s)`,
    ),
    `signal ${letter}_hold = TOF((${letter}1_on or ${letter}${count}_on), ${8 + 2 * count} s)`,
  ];
  return [
    'rig stages "Two stages in one line" {',
    'medium air',
    'chamber silo { volume 5 m3  pressure 1.02 bar }',
    'chamber drum { volume 3 m3  pressure 1.02 bar }',
    'chamber tank { volume 2 m3  pressure 1.02 bar }',
    ...names.flat().map((name) => `door ${name} { pocket 40 L  travel 250 ms${tolerance('20 ms')}  bore 200 mm }`),
    `stack silo > ${names[0]!.join(' > ')} > drum > ${names[1]!.join(' > ')} > tank`,
    `controller { response 40 ms${tolerance('8 ms')}${loose ? '  timer_accuracy 2 %' : ''} }`,
    'switch run = on',
    `sensor ripe on silo { pressure above 2 bar  clears below 1.6 bar${held} }`,
    `sensor full on drum { pressure above 5 bar  clears below 4.5 bar${held} }`,
    ...stage('a', 'run and ripe', doors[0]),
    ...stage('b', linked ? 'run and full and not a_hold' : 'run and full', doors[1]),
    ...names.flat().map((name) => `drive ${name} = ${name}_on`),
    '}',
  ].join('\n');
}
