/**
 * The boolean formulas of a rig (`Logic` of its elements, `Condition` of its requirements), and the walks over its control network.
 * `fold` is the one place that knows the operators: values, truth tables, intervals and words are each a domain to fold into.
 */
import type { Condition, Drive, Element, Logic, MetricArgument, Requirement, Rig } from './rig';

/** What the parts of a formula give in some domain. */
export interface Domain<T> {
  net(net: number): T;
  /** A door by its name: "not shut". Never asked for by a `Logic`. */
  door(door: number): T;
  const(value: boolean): T;
  not(a: T): T;
  and(a: T, b: T): T;
  or(a: T, b: T): T;
  xor(a: T, b: T): T;
}

/** A domain for formulas that name no doors. */
export type NetDomain<T> = Omit<Domain<T>, 'door'>;

/** Computes a formula bottom up in a domain; both sides of an operator are always computed, the left one first. */
export function fold<T>(formula: Logic, domain: NetDomain<T>): T;
export function fold<T>(formula: Condition, domain: Domain<T>): T;
export function fold<T>(formula: Condition, given: NetDomain<T> & Partial<Domain<T>>): T {
  const domain = given as Domain<T>;
  switch (formula.op) {
    case 'net':
      return domain.net(formula.net);
    case 'door':
      return domain.door(formula.door);
    case 'const':
      return domain.const(formula.value);
    case 'not':
      return domain.not(fold(formula.a, domain));
    default:
      return domain[formula.op](fold(formula.a, domain), fold(formula.b, domain));
  }
}

const BOOLEAN = {
  const: (value: boolean): boolean => value,
  not: (a: boolean): boolean => !a,
  and: (a: boolean, b: boolean): boolean => a && b,
  or: (a: boolean, b: boolean): boolean => a || b,
  xor: (a: boolean, b: boolean): boolean => a !== b,
};

/** What can be seen of a rig at one moment. */
export interface Seen {
  net(net: number): boolean;
  notShut(door: number): boolean;
}

/** Whether a condition is true of what is seen. */
export function holds(condition: Condition, { net, notShut }: Seen): boolean {
  return fold<boolean>(condition, { ...BOOLEAN, net, door: notShut });
}

/** The value of a `Logic` for net values of 0 or 1. */
export type Predicate = (nets: ArrayLike<number>) => boolean;

const PREDICATE: NetDomain<Predicate> = {
  net: (net) => (nets) => nets[net] === 1,
  const: (value) => () => value,
  not: (a) => (nets) => !a(nets),
  and: (a, b) => (nets) => a(nets) && b(nets),
  or: (a, b) => (nets) => a(nets) || b(nets),
  xor: (a, b) => (nets) => a(nets) !== b(nets),
};

/** A formula as a function, for kernels that ask it many times: built once, asked without a walk over the tree. */
export function predicateOf(logic: Logic): Predicate {
  return fold(logic, PREDICATE);
}

/** The same formula with every net replaced by what `by` gives. */
export function replaceNets(logic: Logic, by: (net: number) => Logic): Logic {
  return fold<Logic>(logic, {
    net: by,
    const: (value) => ({ op: 'const', value }),
    not: (a) => ({ op: 'not', a }),
    and: (a, b) => ({ op: 'and', a, b }),
    or: (a, b) => ({ op: 'or', a, b }),
    xor: (a, b) => ({ op: 'xor', a, b }),
  });
}

/** Calls `visit` for every net and every door of a formula, as written. */
function eachLeaf(formula: Condition, visit: Pick<Domain<void>, 'net' | 'door'>): void {
  switch (formula.op) {
    case 'net':
      return visit.net(formula.net);
    case 'door':
      return visit.door(formula.door);
    case 'const':
      return;
    case 'not':
      return eachLeaf(formula.a, visit);
    case 'and':
    case 'or':
    case 'xor':
      eachLeaf(formula.a, visit);
      eachLeaf(formula.b, visit);
  }
}

interface Leaves {
  readonly nets: readonly number[];
  readonly doors: readonly number[];
}

/** Formulas never change, and rigs that differ in their times alone share them: what they name is read once. */
const LEAVES = new WeakMap<Condition, Leaves>();

function leavesOf(formula: Condition): Leaves {
  let known = LEAVES.get(formula);
  if (!known) {
    const [nets, doors] = [new Set<number>(), new Set<number>()];
    eachLeaf(formula, { net: (net) => void nets.add(net), door: (door) => void doors.add(door) });
    LEAVES.set(formula, (known = { nets: [...nets], doors: [...doors] }));
  }
  return known;
}

/** Distinct nets that a formula reads, in order of first mention. */
export function netsOf(formula: Condition): number[] {
  return leavesOf(formula).nets.slice();
}

/** Distinct doors that a formula names, in order of first mention. */
export function doorsOf(formula: Condition): number[] {
  return leavesOf(formula).doors.slice();
}

// ---------------------------------------------------------------- arguments of requirements

/** The condition that an argument states; the bare name of a door or signal is one. */
export function conditionOf(rig: Rig, argument: MetricArgument | undefined): Condition | null {
  if (argument?.kind === 'condition') return argument.condition;
  if (argument?.kind !== 'item') return null;
  if (argument.of === 'door') return { op: 'door', door: argument.index };
  const net = netOfItem(rig, argument);
  return net === null ? null : { op: 'net', net };
}

/** The net of a signal, sensor or switch named as an argument. */
export function netOfItem(rig: Rig, argument: MetricArgument): number | null {
  if (argument.kind !== 'item') return null;
  if (argument.of === 'signal') return rig.signals[argument.index]?.net ?? null;
  if (argument.of === 'sensor') return rig.sensors[argument.index]?.net ?? null;
  if (argument.of === 'switch') return rig.switches[argument.index]?.net ?? null;
  return null;
}

/** Doors that a requirement names in any way (by name, by an event, in a condition), each once. */
export function doorsNamed(rig: Rig, requirement: Requirement): number[] {
  const doors = requirement.args.flatMap((argument) => {
    if (argument.kind === 'event') return [argument.door];
    const condition = conditionOf(rig, argument);
    return condition ? doorsOf(condition) : [];
  });
  return [...new Set(doors)];
}

/** Nets that a requirement names, by name or in a condition. */
export function netsNamed(rig: Rig, requirement: Requirement): number[] {
  return requirement.args.flatMap((argument) => {
    const condition = conditionOf(rig, argument);
    return condition ? netsOf(condition) : [];
  });
}

// ---------------------------------------------------------------- walks over the control network

/** Something that can be switched from outside. */
export interface Input {
  readonly net: number;
  readonly name: string;
  readonly kind: 'switch' | 'sensor';
}

/** The element whose output a net is; undefined for a switch or a sensor. */
export function elementOf(rig: Rig, net: number): Element | undefined {
  const found = rig.network.nets[net];
  return found?.kind === 'element' ? rig.network.elements[found.index] : undefined;
}

/** Switches, then sensors, as declared. */
export function inputsOfRig(rig: Rig): Input[] {
  const of =
    (kind: Input['kind']) =>
    (item: { readonly net: number; readonly name: string }): Input => ({ net: item.net, name: item.name, kind });
  return [...rig.switches.map(of('switch')), ...rig.sensors.map(of('sensor'))];
}

/** Distinct nets that an element reads, in order of first mention. */
export function inputsOf(element: Pick<Element, 'inputs'>): number[] {
  const [first, second] = element.inputs.map(netsOf);
  return second ? [...new Set([...first!, ...second])] : (first ?? []);
}

/** Net → indices of the elements that read it, ascending. */
export function readersOf(nets: number, elements: readonly Pick<Element, 'inputs'>[]): number[][] {
  const readers: number[][] = Array.from({ length: nets }, () => []);
  elements.forEach((element, e) => {
    for (const net of inputsOf(element)) readers[net]?.push(e);
  });
  return readers;
}

/** All nets that `targets` depend on, the targets included; what only `ends` depend on is left out. */
export function sourcesOf(rig: Rig, targets: readonly number[], ends: ReadonlySet<number> = new Set()): Set<number> {
  const found = new Set(targets);
  const open = [...found];
  while (open.length > 0) {
    const at = open.pop()!;
    if (ends.has(at)) continue;
    const net = rig.network.nets[at];
    const element = net?.kind === 'element' ? rig.network.elements[net.index] : undefined;
    for (const source of element ? inputsOf(element) : []) {
      if (found.has(source)) continue;
      found.add(source);
      open.push(source);
    }
  }
  return found;
}

/** What drives doors. */
export function doorDrives(rig: Rig): Drive[] {
  return rig.drives.filter((d) => d.kind === 'door' && d.net >= 0 && d.target >= 0);
}

/** Drives of a door; more than one only where that is reported. */
export function drivesOf(rig: Rig, door: number): Drive[] {
  return rig.drives.filter((d) => d.kind === 'door' && d.target === door);
}

/** The drive of a door, or undefined. */
export function driveOf(rig: Rig, door: number): Drive | undefined {
  return rig.drives.find((d) => d.kind === 'door' && d.target === door);
}

/** Drives of a feed or draw. */
export function drivesOfLine(rig: Rig, line: number): Drive[] {
  return rig.drives.filter((d) => d.kind !== 'door' && d.target === line);
}

/** Whether anything drives the door: a `drive`, or a sequence with its trigger. */
export function isDriven(rig: Rig, door: number): boolean {
  return driveOf(rig, door) !== undefined;
}

/** Whether a sequence itself moves the door. */
export function isSequenced(rig: Rig, door: number): boolean {
  return rig.sequences.some((s) => s.drives && s.steps.some((step) => step.doors.includes(door)));
}

/** Nets that move something: what drives read, and triggers of sequences. */
export function movingNets(rig: Rig): number[] {
  const triggers = rig.sequences.flatMap((s) => (s.triggerNet === null ? [] : [s.triggerNet]));
  return [...rig.drives.map((d) => d.net), ...triggers];
}

/** Nets that requirements speak of. */
export function requiredNets(rig: Rig): number[] {
  return rig.requirements.flatMap((requirement) => netsNamed(rig, requirement));
}

/** Nets that decide about a door: what its drive and its driving sequences depend on. */
export function decidingNets(rig: Rig, door: number): Set<number> {
  const drives = drivesOf(rig, door).map((d) => d.net);
  const triggers = rig.sequences
    .filter((s) => s.drives && s.triggerNet !== null && s.steps.some((step) => step.doors.includes(door)))
    .map((s) => s.triggerNet!);
  return sourcesOf(rig, [...drives, ...triggers]);
}
