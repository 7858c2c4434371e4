/**
 * The words of the language, in one table: the parser, the formatter, the resolver, completion, hovers, the colouring grammar
 * and the tables of REFERENCE.md all read it. Plain data, imports nothing.
 */

/** Physical dimensions by name; `server/core/units` knows the units of each. */
export type DimensionName =
  | 'none'
  | 'time'
  | 'length'
  | 'area'
  | 'volume'
  | 'mass'
  | 'amount'
  | 'temperature'
  | 'pressure'
  | 'density'
  | 'mass_flow'
  | 'volume_flow'
  | 'amount_flow'
  | 'molar_mass'
  | 'power'
  | 'energy'
  | 'specific_energy'
  | 'force'
  | 'heat_conductance'
  | 'flow_conductance';

/** A quantity of each dimension, as an example in messages and tables. */
export const SAMPLE_QUANTITY: Readonly<Record<DimensionName, string>> = {
  none: '0.6',
  time: '300 ms',
  length: '300 mm',
  area: '0.07 m2',
  volume: '250 L',
  mass: '5 kg',
  amount: '3 mol',
  temperature: '35 degC',
  pressure: '1.5 bar',
  density: '1.2 kg/m3',
  mass_flow: '0.1 kg/s',
  volume_flow: '3 m3/h',
  amount_flow: '50 NL/min',
  molar_mass: '28.96 g/mol',
  power: '300 W',
  energy: '2 kJ',
  specific_energy: '40 kJ/kg',
  force: '800 N',
  heat_conductance: '12 W/K',
  flow_conductance: '5 L/s/bar',
};

/** One property of a statement. `words` are the fixed words that may stand between keyword and value. */
export interface PropertySpec {
  readonly keyword: string;
  readonly words: readonly string[];
  /** Dimensions the value may have; empty where the property takes words only. */
  readonly dimensions: readonly DimensionName[];
  readonly doc: string;
  /** May stand more than once: with different words (`power moving …`, `power held …`) or of different dimensions (`limit`). */
  readonly repeatable?: boolean;
  /** The words may be left out. */
  readonly optionalWords?: boolean;
  /** The value is a list of pairs, `1 bar 10 m3/h, 3 bar 7 m3/h`: first one of `pairs`, then one of `dimensions`. */
  readonly pairs?: readonly DimensionName[];
  /** The value is a list of names of items of this kind: `vents header, store`. */
  readonly names?: { readonly kind: 'chamber'; readonly count: number };
}

const word = (keyword: string, words: readonly string[], doc: string): PropertySpec => ({
  keyword,
  words,
  dimensions: [],
  doc,
});
const value = (keyword: string, dimensions: readonly DimensionName[], doc: string): PropertySpec => ({
  keyword,
  words: [],
  dimensions,
  doc,
});
const worded = (
  keyword: string,
  words: readonly string[],
  dimensions: readonly DimensionName[],
  doc: string,
  repeatable = false,
): PropertySpec => ({ keyword, words, dimensions, doc, repeatable });

const FLOW_PROPERTIES: readonly PropertySpec[] = [
  {
    ...worded(
      'rate',
      ['free', 'actual'],
      ['mass_flow', 'volume_flow', 'amount_flow'],
      'what flows while it is on; a volume of gas is `free` (at 1.01325 bar and the temperature of the medium) or `actual` (as it is in the chamber), for a feed free and for a draw actual where not stated',
    ),
    optionalWords: true,
  },
  {
    ...value(
      'curve',
      ['volume_flow', 'mass_flow'],
      'a pump: what it moves against the pressure in its chamber, as pairs of pressure and flow; volumes at the suction side',
    ),
    pairs: ['pressure'],
  },
  value('line_limit', ['mass_flow', 'volume_flow', 'amount_flow'], 'what one pipe can carry'),
  value('pump_limit', ['mass_flow', 'volume_flow', 'amount_flow'], 'what one pump can carry'),
  value('power', ['power'], 'electric power while it runs'),
  worded(
    'only',
    ['above', 'below'],
    ['pressure', 'density', 'mass', 'length'],
    'runs only while the chamber is above or below this',
  ),
];

/** Statement keyword → the properties it may have in braces. */
export const PROPERTIES: Readonly<Record<string, readonly PropertySpec[]>> = {
  medium: [
    value('molar_mass', ['molar_mass'], 'mass of one mole'),
    value('heat_ratio', ['none'], 'ratio of specific heats (cp/cv)'),
    value('temperature', ['temperature'], 'temperature of the medium'),
    value('density', ['density'], 'density of a liquid at 1.01325 bar'),
    value('bulk_modulus', ['pressure'], 'stiffness of a liquid: pressure per relative change of volume'),
    word(
      'law',
      ['ideal', 'real'],
      'equation of state of a gas; `real` is the published one of a built-in gas, for a gas of your own Peng-Robinson, which needs the critical constants',
    ),
    word('process', ['isothermal', 'adiabatic', 'polytropic'], 'how a gas changes state in a stroke'),
    value('exponent', ['none'], 'exponent of a polytropic process'),
    value('vapour_pressure', ['pressure'], 'pressure below which a liquid boils, for suction'),
    value('critical_temperature', ['temperature'], 'critical temperature, for `law real`'),
    value('critical_pressure', ['pressure'], 'critical pressure, for `law real`'),
    value('acentric_factor', ['none'], 'acentric factor, for `law real`'),
  ],
  chamber: [
    value('volume', ['volume'], 'inside volume'),
    value('pressure', ['pressure'], 'pressure at the start'),
    value('density', ['density'], 'density of the contents at the start'),
    value('mass', ['mass'], 'mass of the contents at the start'),
    value('temperature', ['temperature'], 'temperature at the start'),
    value('level', ['length'], 'height of the liquid above the bottom at the start'),
    value('floor_area', ['area'], 'floor area, for levels of liquids'),
    value('elevation', ['length'], 'height of the bottom above a common datum, for the head of liquids'),
    {
      ...value(
        'limit',
        ['pressure', 'density', 'mass', 'temperature'],
        'the most it may hold, and the highest temperature it may reach',
      ),
      repeatable: true,
    },
    value(
      'wall',
      ['heat_conductance'],
      'heat that the walls pass per degree between the contents and the temperature of the medium',
    ),
    value(
      'cools_in',
      ['time'],
      'time in which the contents lose 63 % of their difference from the temperature of the medium',
    ),
    word('tight', ['gas', 'liquid'], 'what the walls hold back'),
  ],
  atmosphere: [
    value('pressure', ['pressure'], 'pressure of the air outside; 1.01325 bar where not stated'),
    value('temperature', ['temperature'], 'temperature outside; that of the medium where not stated'),
  ],
  door: [
    value('pocket', ['volume'], 'volume behind the door when it is open'),
    value('clearance', ['volume'], 'part of the pocket that cannot be swept'),
    value('travel', ['time'], 'time to move from one end to the other, either way'),
    value('opens_in', ['time'], 'time to open'),
    value('closes_in', ['time'], 'time to close'),
    value('bore', ['length'], 'inside diameter of the opening'),
    value('area', ['area'], 'area of the opening'),
    value('discharge', ['none'], 'discharge coefficient of the opening'),
    value(
      'kv',
      ['volume_flow'],
      'flow coefficient Kv of the opening (IEC 60534): flow of water at a pressure difference of 1 bar',
    ),
    value('xt', ['none'], 'pressure ratio factor xT of a `kv` for gas (IEC 60534); 0.7 where not stated'),
    value('conductance', ['flow_conductance'], 'sonic conductance C of the opening (ISO 6358)'),
    value('ratio', ['none'], 'critical back-pressure ratio b that belongs to `conductance` (ISO 6358)'),
    value(
      'leak',
      ['none', 'area', 'flow_conductance'],
      'what passes the shut door: a share of its opening, an area or a conductance',
    ),
    value('thrust', ['force'], 'most force that its drive gives'),
    word('rest', ['open', 'closed'], 'position without drive or power'),
    worded('power', ['moving', 'held'], ['power'], 'power while moving, and while held away from rest', true),
  ],
  stack: [
    value('moves', ['none'], 'measured fraction of the contents above moved per stroke'),
    word('tight', ['gas', 'liquid'], 'what the walls between the doors hold back'),
  ],
  feed: FLOW_PROPERTIES,
  draw: FLOW_PROPERTIES,
  supply: [value('limit', ['power'], 'what the power line can carry')],
  controller: [
    value('response', ['time'], 'every element answers this long after its input (relay style)'),
    value('scan', ['time'], 'inputs, signals and outputs are worked once in this time (scanned style)'),
    value('timer_accuracy', ['none'], 'relative tolerance of every timer preset'),
  ],
  switch: [
    value('min_on', ['time'], 'stays on at least this long once on'),
    value('min_off', ['time'], 'stays off at least this long once off'),
    {
      ...word('vents', [], 'throwing the switch is meant to open the whole path between these two chambers of a stack'),
      names: { kind: 'chamber', count: 2 },
    },
  ],
  sensor: [
    worded('pressure', ['above', 'below'], ['pressure'], 'on while the pressure is above or below this'),
    worded('density', ['above', 'below'], ['density'], 'on while the density is above or below this'),
    worded('mass', ['above', 'below'], ['mass'], 'on while the mass is above or below this'),
    worded('level', ['above', 'below'], ['length'], 'on while the level is above or below this'),
    worded(
      'clears',
      ['above', 'below'],
      ['pressure', 'density', 'mass', 'length'],
      'goes off again at this (hysteresis)',
    ),
    value('min_on', ['time'], 'stays on at least this long once on'),
    value('min_off', ['time'], 'stays off at least this long once off'),
  ],
};

const PROPERTIES_OF: ReadonlyMap<string, readonly PropertySpec[]> = new Map(Object.entries(PROPERTIES));

/** The properties of a statement by any text in the place of its keyword: none where it is not such a keyword (`constructor`). */
export const propertiesOf = (statement: string): readonly PropertySpec[] => PROPERTIES_OF.get(statement) ?? [];

/** Statement keywords, each with where it may stand and what it does. */
export interface StatementSpec {
  readonly keyword: string;
  readonly where: readonly ('file' | 'rig' | 'part')[];
  readonly form: string;
  readonly doc: string;
}

export const STATEMENTS: readonly StatementSpec[] = [
  {
    keyword: 'import',
    where: ['file'],
    form: 'import "FILE.rig"',
    doc: 'makes the constants, media and parts of another file known here',
  },
  { keyword: 'rig', where: ['file'], form: 'rig NAME "TITLE" { … }', doc: 'one rig' },
  {
    keyword: 'part',
    where: ['file', 'rig'],
    form: 'part NAME(PARAMETER, …) { … }',
    doc: 'a reusable group of statements',
  },
  {
    keyword: 'place',
    where: ['rig', 'part'],
    form: 'place NAME = PART(ARGUMENT, …)',
    doc: 'puts a part into the rig; its items are NAME.ITEM',
  },
  {
    keyword: 'let',
    where: ['file', 'rig', 'part'],
    form: 'let NAME = VALUE [in LOW .. HIGH]',
    doc: 'a named constant; with a range, one that may be chosen within it',
  },
  {
    keyword: 'medium',
    where: ['file', 'rig'],
    form: 'medium NAME gas|liquid|packed { … }',
    doc: 'what the rig moves; common media are built in by name',
  },
  { keyword: 'chamber', where: ['rig', 'part'], form: 'chamber NAME { … }', doc: 'a fixed volume' },
  {
    keyword: 'atmosphere',
    where: ['rig'],
    form: 'atmosphere { pressure PRESSURE }',
    doc: 'the air outside, an endless chamber that needs no statement: it may be named in stacks and sensors',
  },
  {
    keyword: 'door',
    where: ['rig', 'part'],
    form: 'door NAME { … }',
    doc: 'a powered door, with or without a pocket behind it; valves and vents are doors too',
  },
  {
    keyword: 'stack',
    where: ['rig', 'part'],
    form: 'stack CHAMBER > DOOR > … > CHAMBER { … }',
    doc: 'orders volumes and doors along one line; a vent ends in atmosphere',
  },
  {
    keyword: 'feed',
    where: ['rig', 'part'],
    form: 'feed NAME into CHAMBER { … }',
    doc: 'a source: brings medium from outside',
  },
  { keyword: 'draw', where: ['rig', 'part'], form: 'draw NAME from CHAMBER { … }', doc: 'a sink: takes medium away' },
  { keyword: 'supply', where: ['rig'], form: 'supply { limit POWER }', doc: 'the power line' },
  {
    keyword: 'controller',
    where: ['rig'],
    form: 'controller { response TIME | scan TIME … }',
    doc: 'how logic passes changes on',
  },
  {
    keyword: 'switch',
    where: ['rig', 'part'],
    form: 'switch NAME = on|off',
    doc: 'a manual switch and its position at the start',
  },
  { keyword: 'sensor', where: ['rig', 'part'], form: 'sensor NAME on CHAMBER { … }', doc: 'a sensor on a chamber' },
  {
    keyword: 'signal',
    where: ['rig', 'part'],
    form: 'signal NAME = EXPRESSION [responds TIME]',
    doc: 'a signal of the control network',
  },
  {
    keyword: 'drive',
    where: ['rig', 'part'],
    form: 'drive DOOR|FEED|DRAW = EXPRESSION',
    doc: 'what opens a door or runs a feed or draw',
  },
  {
    keyword: 'sequence',
    where: ['rig', 'part'],
    form: 'sequence NAME on SIGNAL { at TIME open|close DOOR, … repeat after TIME }',
    doc: 'wanted door windows, written directly',
  },
  {
    keyword: 'require',
    where: ['rig', 'part'],
    form: 'require METRIC(…) COMPARISON VALUE [during SCENARIO]',
    doc: 'a requirement: a test of the rig',
  },
  {
    keyword: 'prefer',
    where: ['rig', 'part'],
    form: 'prefer least|most METRIC(…) [during SCENARIO]',
    doc: 'what is better among rigs that keep every requirement; the first written counts most',
  },
  {
    keyword: 'scenario',
    where: ['rig'],
    form: 'scenario NAME { at TIME feed|draw|switch|sensor NAME on|off … at TIME power on|off … for TIME }',
    doc: 'timed operations to simulate and to test with',
  },
];

/** Statements whose keyword is followed by a name of their own. */
export const NAMED_STATEMENTS: ReadonlySet<string> = new Set(
  STATEMENTS.map((s) => s.keyword).filter(
    (keyword) =>
      !['import', 'stack', 'supply', 'controller', 'atmosphere', 'drive', 'require', 'prefer'].includes(keyword),
  ),
);

/** Words inside `sequence` and `scenario` blocks and elsewhere that are not names there. */
export const BLOCK_WORDS: readonly string[] = [
  'at',
  'open',
  'close',
  'repeat',
  'after',
  'for',
  'into',
  'from',
  'on',
  'off',
  'responds',
  'during',
  'in',
  'power',
];

/** Words that can never be names. */
export const RESERVED_WORDS: readonly string[] = ['and', 'or', 'xor', 'not', 'on', 'off', 'in'];

/** Phases a medium may have. */
export const PHASE_WORDS: readonly string[] = ['gas', 'liquid', 'packed'];

/** What `prefer` may want of a metric. */
export const DIRECTION_WORDS: readonly string[] = ['least', 'most'];

/** Moments in the movement of a door, for `order(…)`: starts to open, fully open, starts to close, fully shut. */
export const EVENT_WORDS: readonly string[] = ['opens', 'opened', 'closes', 'shuts'];

/** Standard function blocks of IEC 61131-3 (2013, clause 6.6.3.5, Tables 43 to 46), used as functions of their inputs. */
export interface FunctionSpec {
  readonly name: string;
  /** Names of the inputs as the standard writes them; `PT` is a time, `PV` a count, all others signals. */
  readonly inputs: readonly string[];
  readonly doc: string;
}

export const FUNCTIONS: readonly FunctionSpec[] = [
  { name: 'TON', inputs: ['IN', 'PT'], doc: 'on-delay: on once IN has been on without a break for PT' },
  { name: 'TOF', inputs: ['IN', 'PT'], doc: 'off-delay: on with IN, off once IN has been off without a break for PT' },
  { name: 'TP', inputs: ['IN', 'PT'], doc: 'pulse: on for exactly PT from a rising edge of IN' },
  { name: 'R_TRIG', inputs: ['CLK'], doc: 'a short pulse at each rising edge of CLK' },
  { name: 'F_TRIG', inputs: ['CLK'], doc: 'a short pulse at each falling edge of CLK' },
  { name: 'SR', inputs: ['S1', 'R'], doc: 'latch, set dominant' },
  { name: 'RS', inputs: ['S', 'R1'], doc: 'latch, reset dominant' },
  { name: 'CTU', inputs: ['CU', 'R', 'PV'], doc: 'counter: on once PV rising edges of CU were counted since R was on' },
];
