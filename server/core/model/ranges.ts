/** What the values of properties may be. In the unit of the resolved rig: SI, microseconds for times. */
import type { Range } from './quantities';

const positive = (what: string): Range => ({ what, above: 0, words: 'above 0' });
const notNegative = (what: string): Range => ({ what, least: 0, words: '0 or more' });
const absolutePressure = (what: string): Range => ({ what, above: 0, words: 'above vacuum (0 bar absolute)' });
const temperature = (what: string): Range => ({ what, above: 0, words: 'above absolute zero (-273.15 degC)' });
const share = (what: string): Range => ({ what, above: 0, most: 1, words: 'above 0 and at most 1 (100 %)' });

const FLOW: Readonly<Record<string, Range>> = {
  rate: positive('A rate'),
  line_limit: positive('What one pipe can carry'),
  pump_limit: positive('What one pump can carry'),
  power: notNegative('A power'),
};
const INPUT: Readonly<Record<string, Range>> = {
  min_on: notNegative('A shortest on-time'),
  min_off: notNegative('A shortest off-time'),
};

/** Statement keyword → property keyword → range; what is not listed may be anything. */
export const RANGES: Readonly<Record<string, Readonly<Record<string, Range>>>> = {
  medium: {
    molar_mass: positive('A molar mass'),
    heat_ratio: { what: 'A ratio of specific heats', above: 1, words: 'above 1' },
    temperature: temperature('A temperature'),
    density: positive('The density of a liquid'),
    bulk_modulus: positive('A bulk modulus'),
    exponent: positive('A polytropic exponent'),
    critical_temperature: temperature('A critical temperature'),
    critical_pressure: absolutePressure('A critical pressure'),
    // From helium (-0.38) to long chains (about 1): Poling, Prausnitz, O'Connell, The Properties of Gases and Liquids, App. A.
    vapour_pressure: absolutePressure('A vapour pressure'),
    acentric_factor: { what: 'An acentric factor', least: -1, most: 2, words: 'between -1 and 2' },
  },
  chamber: {
    volume: positive('The volume of a chamber'),
    pressure: absolutePressure('A pressure'),
    density: notNegative('A density'),
    mass: notNegative('A mass'),
    temperature: temperature('A temperature'),
    level: notNegative('A level'),
    floor_area: positive('A floor area'),
    limit: positive('A limit'),
    wall: notNegative('The heat that walls pass'),
    cools_in: positive('A cooling time'),
  },
  atmosphere: { pressure: absolutePressure('A pressure'), temperature: temperature('A temperature') },
  door: {
    pocket: notNegative('A pocket'),
    clearance: notNegative('A clearance'),
    travel: notNegative('A travel time'),
    opens_in: notNegative('An opening time'),
    closes_in: notNegative('A closing time'),
    bore: positive('A bore'),
    area: positive('An area'),
    discharge: share('A discharge coefficient'),
    kv: positive('A flow coefficient'),
    // From ball valves (0.15) to multistage trim (near 1): IEC 60534-2-1, table of typical values.
    xt: share('A pressure ratio factor'),
    conductance: positive('A conductance'),
    ratio: { what: 'A critical back-pressure ratio', least: 0, below: 1, words: 'from 0 to below 1' },
    leak: notNegative('A leak'),
    thrust: positive('A thrust'),
    power: notNegative('A power'),
  },
  stack: { moves: share('The fraction moved per stroke') },
  feed: FLOW,
  draw: FLOW,
  supply: { limit: positive('A supply limit') },
  controller: {
    response: notNegative('A response'),
    scan: positive('A scan time'),
    timer_accuracy: { what: 'A timer accuracy', least: 0, below: 1, words: 'from 0 to below 100 %' },
  },
  switch: INPUT,
  sensor: INPUT,
};

/** Ranges of thresholds by what is sensed. */
export const THRESHOLD_RANGES: Readonly<Record<string, Range>> = {
  pressure: absolutePressure('A pressure'),
  density: notNegative('A density'),
  mass: notNegative('A mass'),
  length: notNegative('A level'),
};

export const PRESET_RANGE: Range = notNegative('A preset');
export const RESPONSE_RANGE: Range = notNegative('A response');
export const STEP_RANGE: Range = notNegative('The time of a step');
export const DURATION_RANGE: Range = positive('A duration');
