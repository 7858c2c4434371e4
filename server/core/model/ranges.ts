/** What the values of properties may be. In the unit of the resolved rig: SI, microseconds for times. */
import type { Range } from './quantities';
import { say } from '../words/say';

const positive = (what: () => string): Range => ({ what, above: 0, words: () => say`above 0` });
const notNegative = (what: () => string): Range => ({ what, least: 0, words: () => say`0 or more` });
const absolutePressure = (what: () => string): Range => ({
  what,
  above: 0,
  words: () => say`above vacuum (0 bar absolute)`,
});
const temperature = (what: () => string): Range => ({
  what,
  above: 0,
  words: () => say`above absolute zero (-273.15 degC)`,
});
const share = (what: () => string): Range => ({
  what,
  above: 0,
  most: 1,
  words: () => say`above 0 and at most 1 (100 %)`,
});

const FLOW: Readonly<Record<string, Range>> = {
  rate: positive(() => say`A rate`),
  line_limit: positive(() => say`What one pipe can carry`),
  pump_limit: positive(() => say`What one pump can carry`),
  power: notNegative(() => say`A power`),
};
const INPUT: Readonly<Record<string, Range>> = {
  min_on: notNegative(() => say`A shortest on-time`),
  min_off: notNegative(() => say`A shortest off-time`),
};

/** Statement keyword → property keyword → range; what is not listed may be anything. */
export const RANGES: Readonly<Record<string, Readonly<Record<string, Range>>>> = {
  medium: {
    molar_mass: positive(() => say`A molar mass`),
    heat_ratio: { what: () => say`A ratio of specific heats`, above: 1, words: () => say`above 1` },
    temperature: temperature(() => say`A temperature`),
    density: positive(() => say`The density of a liquid`),
    bulk_modulus: positive(() => say`A bulk modulus`),
    exponent: positive(() => say`A polytropic exponent`),
    critical_temperature: temperature(() => say`A critical temperature`),
    critical_pressure: absolutePressure(() => say`A critical pressure`),
    // From helium (-0.38) to long chains (about 1): Poling, Prausnitz, O'Connell, The Properties of Gases and Liquids, App. A.
    vapour_pressure: absolutePressure(() => say`A vapour pressure`),
    acentric_factor: { what: () => say`An acentric factor`, least: -1, most: 2, words: () => say`between -1 and 2` },
  },
  chamber: {
    volume: positive(() => say`The volume of a chamber`),
    pressure: absolutePressure(() => say`A pressure`),
    density: notNegative(() => say`A density`),
    mass: notNegative(() => say`A mass`),
    temperature: temperature(() => say`A temperature`),
    level: notNegative(() => say`A level`),
    floor_area: positive(() => say`A floor area`),
    limit: positive(() => say`A limit`),
    wall: notNegative(() => say`The heat that walls pass`),
    cools_in: positive(() => say`A cooling time`),
  },
  atmosphere: { pressure: absolutePressure(() => say`A pressure`), temperature: temperature(() => say`A temperature`) },
  door: {
    pocket: notNegative(() => say`A pocket`),
    clearance: notNegative(() => say`A clearance`),
    travel: notNegative(() => say`A travel time`),
    opens_in: notNegative(() => say`An opening time`),
    closes_in: notNegative(() => say`A closing time`),
    bore: positive(() => say`A bore`),
    area: positive(() => say`An area`),
    discharge: share(() => say`A discharge coefficient`),
    kv: positive(() => say`A flow coefficient`),
    // From ball valves (0.15) to multistage trim (near 1): IEC 60534-2-1, table of typical values.
    xt: share(() => say`A pressure ratio factor`),
    conductance: positive(() => say`A conductance`),
    ratio: { what: () => say`A critical back-pressure ratio`, least: 0, below: 1, words: () => say`from 0 to below 1` },
    leak: notNegative(() => say`A leak`),
    thrust: positive(() => say`A thrust`),
    power: notNegative(() => say`A power`),
  },
  stack: { moves: share(() => say`The fraction moved per stroke`) },
  feed: FLOW,
  draw: FLOW,
  supply: { limit: positive(() => say`A supply limit`) },
  controller: {
    response: notNegative(() => say`A response`),
    scan: positive(() => say`A scan time`),
    timer_accuracy: { what: () => say`A timer accuracy`, least: 0, below: 1, words: () => say`from 0 to below 100 %` },
  },
  switch: INPUT,
  sensor: INPUT,
};

/** Ranges of thresholds by what is sensed. */
export const THRESHOLD_RANGES: Readonly<Record<string, Range>> = {
  pressure: absolutePressure(() => say`A pressure`),
  density: notNegative(() => say`A density`),
  mass: notNegative(() => say`A mass`),
  length: notNegative(() => say`A level`),
};

export const PRESET_RANGE: Range = notNegative(() => say`A preset`);
export const RESPONSE_RANGE: Range = notNegative(() => say`A response`);
export const STEP_RANGE: Range = notNegative(() => say`The time of a step`);
export const DURATION_RANGE: Range = positive(() => say`A duration`);
