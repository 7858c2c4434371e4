/**
 * Everything that a rig states besides the wiring of its control: a line for each value, with its text to read and an exact form to compare.
 * Two rigs that differ in one literal differ in a line of this list or in their wiring; tests/report/diff-everything.test.ts holds it to that.
 */
import { endsOf, ventsOf } from '../model/intent';
import type { Door, FlowRate, Line, Medium, Quantity, Rig, Sensor, Threshold, TimeValue } from '../model/rig';
import { formatNumber, formatSi, formatTime } from '../units/units';
import { timeWithRange } from './sheet/control-tables';
import { say } from '../words/say';

type Dimension = Parameters<typeof formatSi>[1];

/** One stated value of one item: `upper`, `clearance`, `10 L`. */
export interface Stated {
  readonly group: 'requirements' | 'settings' | 'parts';
  /** Declared name; for what has none its keyword, as `controller`. */
  readonly item: string;
  /** Whether `item` is a declared name, which may change while the item stays. */
  readonly named: boolean;
  readonly property: string;
  readonly text: string;
  /** Equal where nothing differs, however small: `text` is rounded. */
  readonly exact: string;
  /** µs, where it is a time. */
  readonly time: number | null;
}

/** A value as text and in its exact form; null where it is not stated. */
type Value = { readonly text: string; readonly exact: string; readonly time?: number } | null;
type Property = readonly [property: string, value: Value];

// ---------------------------------------------------------------- values

const word = (text: string | null | undefined): Value =>
  text === null || text === undefined || text === '' ? null : { text, exact: text };

const span = ({ nominal, min, max }: Quantity | TimeValue): string =>
  min === max ? String(nominal) : `${nominal} (${min} to ${max})`;

/** `1.5 bar`, with its tolerance where it has one. */
export function amount(value: Quantity | null | undefined, dimension: Dimension): Value {
  if (!value) return null;
  const format = (si: number) => formatSi(si, dimension);
  const range = value.min < value.max ? ` (${format(value.min)} to ${format(value.max)})` : '';
  return { text: format(value.nominal) + range, exact: span(value) };
}

function time(value: TimeValue | null | undefined): Value {
  return value ? { text: timeWithRange(value), exact: span(value), time: value.nominal } : null;
}

const joined = (...values: readonly Value[]): Value => {
  const stated = values.flatMap((v) => (v ? [v] : []));
  return stated.length === 0
    ? null
    : { text: stated.map((v) => v.text).join(', '), exact: stated.map((v) => v.exact).join('; ') };
};

const prefixed = (prefix: string, value: Value): Value => value && { ...value, text: prefix + value.text };

// ---------------------------------------------------------------- items

/** What passes an open door, in the terms in which it is stated: by area (with the round bore of that size), IEC 60534 or ISO 6358. */
export function openingOf(door: Door): Value {
  const bore = door.area && formatSi(Math.sqrt((4 * door.area.nominal) / Math.PI), 'length');
  const area = amount(door.area, 'area');
  return joined(
    area && { ...area, text: say`${area.text} (round: ${bore!})` },
    prefixed(say`discharge `, amount(door.discharge, 'none')),
    door.kv && { text: `Kv ${formatNumber(door.kv.nominal * 3600)} m3/h`, exact: span(door.kv) },
    prefixed('xT ', amount(door.xt, 'none')),
    // 1 L/s/bar is 1e-8 m3/s/Pa.
    door.conductance && {
      text: `C ${formatNumber(door.conductance.nominal * 1e8)} L/s/bar`,
      exact: span(door.conductance),
    },
    prefixed('b ', amount(door.ratio, 'none')),
  );
}

function leakOf({ leak }: Door): Value {
  if (!leak) return null;
  if (leak.kind === 'area') return amount(leak.value, 'area');
  const { nominal } = leak.value;
  const text =
    leak.kind === 'share'
      ? say`${formatNumber(nominal * 100)} % of its opening`
      : `${formatNumber(nominal * 1e8)} L/s/bar`;
  return { text, exact: `${leak.kind} ${span(leak.value)}` };
}

function doorProperties(door: Door): Property[] {
  return [
    [say`pocket`, amount(door.pocket, 'volume')],
    [say`clearance`, amount(door.clearance, 'volume')],
    [say`opening`, openingOf(door)],
    [say`leak when shut`, leakOf(door)],
    [say`opens in`, time(door.opensIn)],
    [say`closes in`, time(door.closesIn)],
    [say`thrust`, amount(door.thrust, 'force')],
    [say`without power`, word(door.rest)],
    [say`power moving`, amount(door.powerMoving, 'power')],
    [say`power held`, amount(door.powerHeld, 'power')],
  ];
}

function chamberProperties(chamber: Rig['chambers'][number]): Property[] {
  return [
    [say`volume`, amount(chamber.volume, 'volume')],
    [say`limit`, chamber.limit && amount(chamber.limit.value, chamber.limit.kind)],
    [say`temperature limit`, amount(chamber.temperatureLimit, 'temperature')],
    [say`tight for`, word(chamber.tight)],
    [say`floor area`, amount(chamber.floorArea, 'area')],
    [say`bottom above the datum`, amount(chamber.elevation, 'length')],
    [say`heat through its walls`, amount(chamber.wall, 'heat_conductance')],
    [say`cools in`, time(chamber.coolsIn)],
    ...(['pressure', 'density', 'mass', 'temperature'] as const).map((kind): Property => [
      say`${kind} at the start`,
      amount(chamber[kind], kind),
    ]),
    [say`level at the start`, amount(chamber.level, 'length')],
  ];
}

/** A rate with what its volume is counted at: `16.67 L/s free`. */
export function rateText(rate: FlowRate | null): Value {
  const value = rate && amount(rate.value, rate.kind);
  if (!value || rate.kind !== 'volume_flow') return value;
  return { text: `${value.text} ${rate.basis}`, exact: `${value.exact} ${rate.basis}` };
}

/** A rate, or the points of a pump's curve. */
export function flowOf(line: Line): Value {
  const { curve } = line;
  if (!curve) return rateText(line.rate);
  const points = curve.points.map(({ pressure, flow }) =>
    joined(prefixed('at ', amount(pressure, 'pressure')), amount(flow, curve.kind)),
  );
  const all = {
    text: points.map((p) => p!.text.replace(', ', ' ')).join(', '),
    exact: points.map((p) => p!.exact).join(),
  };
  return { text: `pump: ${all.text}`, exact: `${all.exact} ${curve.basis}` };
}

/** `pressure above 1.5 bar`. */
export function thresholdOf(threshold: Threshold | null): Value {
  if (!threshold) return null;
  const { sensed, side, value } = threshold;
  const at = amount(value, sensed === 'level' ? 'length' : sensed)!;
  return { text: `${sensed} ${side} ${at.text}`, exact: `${sensed} ${side} ${at.exact}` };
}

function lineProperties(rig: Rig, line: Line): Property[] {
  return [
    [say`kind`, word(line.kind)],
    [say`chamber`, word(rig.chambers[line.chamber]?.name)],
    [say`rate`, flowOf(line)],
    [say`runs only`, thresholdOf(line.only)],
    [say`most one line carries`, rateText(line.lineLimit)],
    [say`most one pump carries`, rateText(line.pumpLimit)],
    [say`power`, amount(line.power, 'power')],
  ];
}

function mediumProperties(medium: Medium): Property[] {
  const known: Property[] = [
    [say`name`, word(medium.name)],
    [say`phase`, word(medium.phase)],
    [say`temperature`, amount(medium.temperature, 'temperature')],
    [say`law`, word(medium.phase === 'gas' ? medium.law : null)],
    [say`process`, word(medium.phase === 'gas' ? medium.process : null)],
    [say`exponent`, amount(medium.exponent, 'none')],
  ];
  // Of a built-in medium the name stands for the rest.
  if (medium.builtIn !== null) return known;
  return [
    ...known,
    [say`molar mass`, amount(medium.molarMass, 'molar_mass')],
    [say`ratio of specific heats`, amount(medium.heatRatio, 'none')],
    [say`density`, amount(medium.density, 'density')],
    [say`bulk modulus`, amount(medium.bulkModulus, 'pressure')],
    [say`vapour pressure`, amount(medium.vapourPressure, 'pressure')],
    [say`critical temperature`, amount(medium.criticalTemperature, 'temperature')],
    [say`critical pressure`, amount(medium.criticalPressure, 'pressure')],
    [say`acentric factor`, amount(medium.acentricFactor, 'none')],
  ];
}

/** What a sensor answers to; `clears` where it has none is the same value. */
function sensorProperties(rig: Rig, sensor: Sensor): Property[] {
  return [
    [say`chamber`, word(rig.chambers[sensor.chamber]?.name)],
    [say`on at`, thresholdOf(sensor.on)],
    [say`off again at`, thresholdOf(sensor.clears)],
    [say`stays on at least`, time(sensor.minOn)],
    [say`stays off at least`, time(sensor.minOff)],
  ];
}

function switchProperties(rig: Rig, index: number): Property[] {
  const { initial, minOn, minOff } = rig.switches[index]!;
  const vents = ventsOf(rig).filter((v) => v.switch === index);
  return [
    [say`at the start`, word(initial ? 'on' : 'off')],
    [say`vents`, word(vents.map((v) => endsOf(rig, v.path)).join('; '))],
    [say`stays on at least`, time(minOn)],
    [say`stays off at least`, time(minOff)],
  ];
}

/** How the control passes changes on; elements whose response is not the controller's stand by themselves. */
function controllerProperties({ controller, network }: Rig): Property[] {
  const own = network.elements.filter(
    (e) => controller.style === 'response' && span(e.response) !== span(controller.time),
  );
  return [
    [controller.style === 'scan' ? 'scan' : 'response', time(controller.time)],
    [say`timer accuracy`, amount(controller.timerAccuracy, 'none')],
    ...own.map((e): Property => [say`${e.name} answers after`, time(e.response)]),
  ];
}

const stackName = (rig: Rig, k: number): string =>
  rig.stacks[k]!.members.map((m) => (m.kind === 'door' ? rig.doors : rig.chambers)[m.index]?.name ?? '?').join(' > ');

/** Steps of a stated sequence; one that drives its doors is in the network, its doors are not named there. */
function sequenceProperties(rig: Rig, { steps, triggerNet, repeatAfter }: Rig['sequences'][number]): Property[] {
  const text = steps.map(
    (s) =>
      `${formatTime(s.at.nominal)} ${s.open ? 'open' : 'close'} ${s.doors.map((d) => rig.doors[d]!.name).join(', ')}`,
  );
  return [
    [say`starts on`, word(triggerNet === null ? null : rig.network.nets[triggerNet]?.name)],
    [say`steps`, { text: text.join('; '), exact: steps.map((s, k) => `${span(s.at)} ${text[k]!}`).join('; ') }],
    [say`repeats after`, time(repeatAfter)],
  ];
}

function scenarioProperties(rig: Rig, { steps, duration }: Rig['scenarios'][number]): Property[] {
  const named = { feed: rig.lines, draw: rig.lines, switch: rig.switches, sensor: rig.sensors };
  const words = steps.map(({ at, action, target, on }) => {
    const name = action === 'power' ? '' : ` ${named[action][target]?.name ?? '?'}`;
    return `${formatTime(at.nominal)} ${action}${name} ${on ? 'on' : 'off'}`;
  });
  return [
    [say`steps`, word(words.join('; '))],
    [say`lasts`, time(duration)],
  ];
}

// ---------------------------------------------------------------- the list

/** Every value that the rig states, in the order parts, settings, requirements; what is not stated is not in the list. */
export function statedOf(rig: Rig): Stated[] {
  const found: Stated[] = [];
  const put = (group: Stated['group'], item: string, named: boolean, properties: readonly Property[]) => {
    for (const [property, value] of properties)
      if (value)
        found.push({ group, item, named, property, text: value.text, exact: value.exact, time: value.time ?? null });
  };
  if (rig.medium) put('parts', 'medium', false, mediumProperties(rig.medium));
  for (const chamber of rig.chambers) put('parts', chamber.name, true, chamberProperties(chamber));
  for (const door of rig.doors) put('parts', door.name, true, doorProperties(door));
  rig.stacks.forEach((stack, k) =>
    put('parts', say`stack ${k + 1}`, false, [
      [say`members`, word(stackName(rig, k))],
      [say`moves`, amount(stack.moves, 'none')],
      [say`tight for`, word(stack.tight)],
    ]),
  );
  for (const line of rig.lines) put('parts', line.name, true, lineProperties(rig, line));
  put('parts', 'supply', false, [[say`limit`, amount(rig.supply?.limit, 'power')]]);
  put('settings', 'controller', false, controllerProperties(rig));
  rig.switches.forEach((s, k) => put('settings', s.name, true, switchProperties(rig, k)));
  for (const sensor of rig.sensors) put('settings', sensor.name, true, sensorProperties(rig, sensor));
  for (const sequence of rig.sequences) put('settings', sequence.name, true, sequenceProperties(rig, sequence));
  for (const c of rig.choosable)
    put('settings', c.name, false, [
      [say`may be chosen from`, amount(c.low, c.dimension as Dimension)],
      [say`may be chosen to`, amount(c.high, c.dimension as Dimension)],
    ]);
  rig.preferences.forEach((p, k) =>
    put('requirements', say`preference ${k + 1}`, false, [[say`prefer`, word(p.text)]]),
  );
  for (const scenario of rig.scenarios) put('requirements', scenario.name, true, scenarioProperties(rig, scenario));
  return found;
}
