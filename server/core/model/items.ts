/** Chambers, doors, stacks, feeds, draws, the supply, switches and sensors: statements with properties → items of the rig. */
import type {
  ChamberStatement,
  DoorStatement,
  DrawStatement,
  FeedStatement,
  Name,
  Property,
  SensorStatement,
  StackStatement,
  Statement,
  SwitchStatement,
} from '../../../grammar/src/ast';
import type { DimensionName } from '../units/dimensions';
import { ATMOSPHERE_NAME } from './atmosphere';
import {
  type At,
  type AtmospherePlace,
  type Context,
  excerpt,
  markIncomplete,
  place,
  report,
  type Scope,
} from './context';
import { checkRange, quantityOf } from './quantities';
import { bind } from './names';
import { bagOf, measuredAll, type PropertyBag, propertyOf, quantity, reportRepeated, time, word } from './properties';
import { leakOf, openingOf } from './openings';
import { flowRate, pumpCurve } from './rates';
import { THRESHOLD_RANGES } from './ranges';
import type {
  Chamber,
  Door,
  Item,
  Line,
  Sensed,
  Sensor,
  Stack,
  StackMember,
  Switch,
  Threshold,
  TimeValue,
} from './rig';
import { say } from '../words/say';

/** What every item has. */
export function itemOf(scope: Scope, name: Name, statement: Statement): Item {
  return {
    name: scope.prefix + name.text,
    at: place(scope, name.span),
    whole: place(scope, statement.span),
    doc: statement.documentation,
  };
}

const SENSED_BY_DIMENSION: Readonly<Partial<Record<DimensionName, Sensed>>> = {
  pressure: 'pressure',
  density: 'density',
  mass: 'mass',
  length: 'level',
};
/** The dimension of what a sensor senses. */
export const DIMENSION_OF: Readonly<Record<Sensed, DimensionName>> = {
  pressure: 'pressure',
  density: 'density',
  mass: 'mass',
  level: 'length',
};
const SIDES = ['above', 'below'] as const;

/** How the walls pass heat; both ways at once contradict each other. */
function wallOf(bag: PropertyBag): Pick<Chamber, 'wall' | 'coolsIn'> {
  const wall = quantity(bag, 'wall');
  const coolsIn = time(bag, 'cools_in');
  if (wall === null || coolsIn === null) return { wall, coolsIn };
  const message = say`How the walls pass heat is stated twice, as wall and as cools_in; remove one of the two.`;
  report(bag.ctx, 'value/conflict', message, coolsIn.at, {
    related: [{ at: wall.at, message: say`also stated here` }],
  });
  return { wall, coolsIn: null };
}

/** The standard atmosphere, Pa, exact by definition (10th General Conference on Weights and Measures, 1954). */
const STANDARD_ATMOSPHERE = 101_325;

/** The chamber it is; null where nothing names it. Its statement is read for its problems in any case. */
export function resolveAtmosphere(ctx: Context, here: AtmospherePlace): Chamber | null {
  const { statement, at } = here;
  const bag =
    statement === null ? null : bagOf({ ctx, scope: statement.scope }, 'atmosphere', statement.statement.properties);
  const pressure = bag === null ? null : quantity(bag, 'pressure');
  const temperature = bag === null ? null : quantity(bag, 'temperature');
  if (here.binding === null) return null;
  return {
    name: ATMOSPHERE_NAME,
    at,
    whole: statement === null ? at : place(statement.scope, statement.statement.span),
    doc: statement?.statement.documentation ?? '',
    volume: null,
    pressure: pressure ?? { nominal: STANDARD_ATMOSPHERE, min: STANDARD_ATMOSPHERE, max: STANDARD_ATMOSPHERE, at },
    density: null,
    mass: null,
    temperature,
    level: null,
    floorArea: null,
    elevation: null,
    limit: null,
    temperatureLimit: null,
    wall: null,
    coolsIn: null,
    endless: true,
    tight: null,
  };
}

export function resolveChamber(here: At, statement: ChamberStatement): Chamber {
  const { ctx, scope } = here;
  const bag = bagOf(here, 'chamber', statement.properties);
  const limits = measuredAll(bag, 'limit', {
    length: (given) => say`A level is limited by a requirement: require peak(${statement.name.text}) <= ${given}.`,
  });
  const hot = limits.find((l) => l.dimension === 'temperature');
  const [limit, other] = limits.filter((l) => l !== hot);
  if (other !== undefined) {
    const message = say`A chamber has one limit of its contents beside one of temperature; the first counts.`;
    report(ctx, 'value/repeated', message, other.quantity.at, {
      related: [{ at: limit!.quantity.at, message: say`stated first here` }],
    });
  }
  // Copied by name here and for lines: spreading costs more than all the rest where there are hundreds.
  const { name, at, whole, doc } = itemOf(scope, statement.name, statement);
  return {
    name,
    at,
    whole,
    doc,
    volume: quantity(bag, 'volume'),
    pressure: quantity(bag, 'pressure'),
    density: quantity(bag, 'density'),
    mass: quantity(bag, 'mass'),
    temperature: quantity(bag, 'temperature'),
    level: quantity(bag, 'level'),
    floorArea: quantity(bag, 'floor_area'),
    elevation: quantity(bag, 'elevation'),
    limit:
      limit === undefined ? null : { kind: limit.dimension as 'pressure' | 'density' | 'mass', value: limit.quantity },
    temperatureLimit: hot?.quantity ?? null,
    ...wallOf(bag),
    endless: false,
    tight: word(bag, 'tight', ['gas', 'liquid']),
  };
}

/** A time of a door; one that is stated and cannot be read leaves the door's movement unknown. */
function movement(bag: PropertyBag, keyword: string): TimeValue | null {
  const value = time(bag, keyword);
  const property = propertyOf(bag, keyword);
  if (value === null && property !== undefined) markIncomplete(bag, property.span);
  return value;
}

export function resolveDoor(here: At, statement: DoorStatement): Door {
  const { ctx, scope } = here;
  const bag = bagOf(here, 'door', statement.properties);
  const item = itemOf(scope, statement.name, statement);
  // Without a stated travel a door moves at once: a rig known only by measuring may have such doors.
  const travel = movement(bag, 'travel') ?? { nominal: 0, min: 0, max: 0, at: item.at };
  const pocket = quantity(bag, 'pocket');
  const clearance = quantity(bag, 'clearance');
  if (pocket !== null && clearance !== null && clearance.nominal > pocket.nominal) {
    const message = say`The clearance of ${item.name} is larger than its pocket, of which it is a part.`;
    report(ctx, 'value/conflict', message, clearance.at, { related: [{ at: pocket.at, message: say`the pocket` }] });
  }
  const opening = openingOf(bag);
  // Written out, not spread: doors are many, and spreading costs as much as all the rest here.
  return {
    name: item.name,
    at: item.at,
    whole: item.whole,
    doc: item.doc,
    pocket,
    clearance,
    opensIn: movement(bag, 'opens_in') ?? travel,
    closesIn: movement(bag, 'closes_in') ?? travel,
    area: opening.area,
    discharge: opening.discharge,
    kv: opening.kv,
    xt: opening.xt,
    conductance: opening.conductance,
    ratio: opening.ratio,
    leak: leakOf(bag, opening),
    thrust: quantity(bag, 'thrust'),
    rest: word(bag, 'rest', ['open', 'closed']) ?? 'closed',
    powerMoving: quantity(bag, 'power', 'moving'),
    powerHeld: quantity(bag, 'power', 'held'),
  };
}

/** Reads a stack; null where a member is unknown or cannot be where it is written: half a stack would give wrong facts. */
export function resolveStack(here: At, statement: StackStatement, others: readonly Stack[]): Stack | null {
  const { scope } = here;
  const bag = bagOf(here, 'stack', statement.properties);
  const members: StackMember[] = [];
  for (const name of statement.members) {
    const binding = bind(here, name, ['chamber', 'door'])?.binding;
    if (binding?.kind !== 'chamber' && binding?.kind !== 'door') continue;
    if (binding.index >= 0) members.push({ kind: binding.kind, index: binding.index, at: place(scope, name.span) });
  }
  const moves = quantity(bag, 'moves');
  if (members.length < statement.members.length || misplaced(here, statement.members, members, others)) return null;
  return { whole: place(scope, statement.span), members, moves, tight: word(bag, 'tight', ['gas', 'liquid']) };
}

/** Whether a door has its place in a stack already: it has one place in one stack, and every walk along doors ends because of this. */
function misplaced(
  { ctx }: At,
  names: readonly Name[],
  members: readonly StackMember[],
  others: readonly Stack[],
): boolean {
  const taken = new Map(others.flatMap((stack) => stack.members).map((m) => [`${m.kind}${m.index}`, m.at]));
  for (const [k, { kind, index, at }] of members.entries()) {
    if (kind !== 'door') continue;
    const first = taken.get(`door${index}`);
    taken.set(`door${index}`, at);
    if (first === undefined) continue;
    const message = say`A door has one place in one stack, and ${names[k]!.text} has its place already.`;
    report(ctx, 'value/repeated', message, at, { related: [{ at: first, message: say`its first place` }] });
    return true;
  }
  return false;
}

function chamberIndex(here: At, name: Name): number {
  const found = bind(here, name, ['chamber']);
  return found?.binding.kind === 'chamber' ? found.binding.index : -1;
}

/** `above X`, `below X`, where what is sensed follows from the dimension of X, or is given. */
function threshold(bag: PropertyBag, property: Property | undefined, sensed: Sensed | null): Threshold | null {
  const side = SIDES.find((s) => s === property?.words[0]?.text);
  if (property === undefined || property.value === null || side === undefined) return null;
  const wanted = sensed === null ? (Object.keys(SENSED_BY_DIMENSION) as DimensionName[]) : [DIMENSION_OF[sensed]];
  const made = quantityOf(bag, property.value, wanted, null);
  if (made === null) return null;
  const range = THRESHOLD_RANGES[made.dimension]!;
  return !checkRange(bag, property.value, range, made.quantity)
    ? null
    : { sensed: sensed ?? SENSED_BY_DIMENSION[made.dimension]!, side, value: made.quantity };
}

export function resolveLine(here: At, statement: FeedStatement | DrawStatement): Line {
  const { ctx, scope } = here;
  const { kind } = statement;
  const bag = bagOf(here, kind, statement.properties);
  const rate = flowRate(bag, 'rate', kind);
  const curve = pumpCurve(bag, kind);
  if (rate !== null && curve !== null) {
    const related = [{ at: curve.at, message: say`the curve` }];
    const message = say`What ${statement.name.text} moves is stated twice, as rate and as curve; the curve counts.`;
    report(ctx, 'value/conflict', message, rate.value.at, { related });
  }
  const { name, at, whole, doc } = itemOf(scope, statement.name, statement);
  return {
    name,
    at,
    whole,
    doc,
    kind,
    chamber: chamberIndex(here, statement.chamber),
    rate: curve === null ? rate : null,
    curve,
    lineLimit: flowRate(bag, 'line_limit', kind),
    pumpLimit: flowRate(bag, 'pump_limit', kind),
    power: quantity(bag, 'power'),
    only: threshold(bag, propertyOf(bag, 'only'), null),
  };
}

interface InputTimes {
  readonly minOn: TimeValue | null;
  readonly minOff: TimeValue | null;
}

function inputTimes(bag: PropertyBag): InputTimes {
  return { minOn: time(bag, 'min_on'), minOff: time(bag, 'min_off') };
}

/** `vents header, store`; absent where it is not stated or not read in full (reported). */
function ventsOf(here: At, bag: PropertyBag): Pick<Switch, 'vents'> {
  const property = propertyOf(bag, 'vents');
  const chambers = (property?.names ?? []).map((name) => chamberIndex(here, name));
  const [a, b] = chambers;
  if (!property || chambers.length !== 2 || a! < 0 || b! < 0) return {};
  return { vents: { chambers: [a!, b!], at: place(here.scope, property.span) } };
}

export function resolveSwitch(here: At, statement: SwitchStatement, net: number): Switch {
  const { ctx, scope } = here;
  const { initial } = statement;
  const digit =
    initial.kind === 'quantity' && initial.unit === null && /^[01]$/.test(initial.number) ? initial.number : null;
  if (initial.kind !== 'state' && initial.kind !== 'missing') {
    const at = place(scope, initial.span);
    const meant = digit === null ? ['on', 'off'] : [digit === '1' ? 'on' : 'off'];
    const fixes = meant.map((text) => ({
      title: say`Change to ${text}`,
      edits: [{ at, text }],
      preferred: meant.length === 1,
    }));
    const message = say`A switch starts on or off, not ${excerpt(scope, initial.span)}.`;
    report(ctx, 'value/not-a-signal', message, at, { fixes });
  }
  const bag = bagOf(here, 'switch', statement.properties);
  return {
    ...itemOf(scope, statement.name, statement),
    initial: (initial.kind === 'state' && initial.on) || digit === '1',
    ...ventsOf(here, bag),
    ...inputTimes(bag),
    net,
  };
}

const SENSED: readonly Sensed[] = ['pressure', 'density', 'mass', 'level'];

/** The property that says what a sensor watches; reports none or several. */
function watched(bag: PropertyBag, statement: SensorStatement): { property: Property; sensed: Sensed } | null {
  const all = SENSED.flatMap((sensed) => {
    const property = propertyOf(bag, sensed);
    return property === undefined ? [] : [{ property, sensed }];
  }).sort((a, b) => a.property.span.start - b.property.span.start);
  const [first, second] = all;
  if (second !== undefined)
    reportRepeated(bag, say`What the sensor watches`, first!.property.span, second.property.span);
  if (first === undefined && statement.name.text !== '') {
    const message = say`The sensor ${statement.name.text} states nothing to watch, such as pressure above 1.5 bar.`;
    report(bag.ctx, 'value/missing', message, place(bag.scope, statement.name.span));
  }
  return first ?? null;
}

/** A sensor must clear on the other side, and not beyond the value at which it comes on. */
function checkClears(bag: PropertyBag, on: Threshold, clears: Threshold): boolean {
  const related = [{ at: on.value.at, message: say`comes on here` }];
  if (clears.side === on.side) {
    const side = on.side === 'above' ? 'below' : 'above';
    const message = say`A sensor that comes on ${on.side} a value clears ${side} one.`;
    report(bag.ctx, 'value/conflict', message, clears.value.at, { related });
    return false;
  }
  const gap = on.value.nominal - clears.value.nominal;
  if (on.side === 'above' ? gap >= 0 : gap <= 0) return true;
  const message = say`The sensor would clear while it comes on: the value to clear ${clears.side} is ${on.side} the one to come on.`;
  report(bag.ctx, 'value/conflict', message, clears.value.at, { related });
  return false;
}

export function resolveSensor(here: At, statement: SensorStatement, net: number): Sensor {
  const bag = bagOf(here, 'sensor', statement.properties);
  const source = watched(bag, statement);
  const on = source === null ? null : threshold(bag, source.property, source.sensed);
  const clearing = propertyOf(bag, 'clears');
  const read = source === null ? null : threshold(bag, clearing, source.sensed);
  const clears = on !== null && read !== null && !checkClears(bag, on, read) ? null : read;
  const chamber = chamberIndex(here, statement.chamber);
  const isWhole = on !== null && chamber >= 0 && (clearing === undefined || clears !== null);
  if (!isWhole) markIncomplete(here, statement.span);
  return {
    ...itemOf(here.scope, statement.name, statement),
    chamber,
    on,
    clears,
    ...inputTimes(bag),
    net,
  };
}
