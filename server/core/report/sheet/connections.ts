/**
 * The control as a builder meets it: units with terminals, and wires between them, each once, with every place a signal goes to.
 * Complete and minimal: from units and wires alone the network can be built again (a test does so).
 */
import { logicText } from '../../diagram/kit/logic-text';
import { BLOCK_PINS } from '../../model/block-pins';
import type { Element, Logic, Rig, TimeValue } from '../../model/rig';
import { initialInputs } from '../../timing/engine';

export type UnitKind =
  'switch' | 'sensor' | 'gate' | 'input gate' | Exclude<Element['kind'], 'LOGIC'> | 'door' | 'feed' | 'draw';

export interface Unit {
  readonly name: string;
  readonly kind: UnitKind;
  /** For gates: the function of its inputs, which are numbered: `1 and not 2`; empty elsewhere. */
  readonly formula: string;
  readonly preset: TimeValue | null;
  readonly count: number | null;
  /** Null for what has no response of its own: inputs, gates at a block's input, what is driven, and the scanned style. */
  readonly response: TimeValue | null;
  /** Whether it is on when power comes; switches and sensors only. */
  readonly initial: boolean | null;
}

export interface Terminal {
  readonly unit: string;
  readonly pin: string;
}

export interface Wire {
  readonly number: number;
  readonly from: Terminal;
  readonly to: Terminal;
  /** This is place `place` of the `places` that the signal goes to. */
  readonly place: number;
  readonly places: number;
}

export interface Wiring {
  /** Inputs, then elements in the order in which they are evaluated (a gate at an input before its block), then what is driven. */
  readonly units: readonly Unit[];
  readonly wires: readonly Wire[];
}

const OUTPUT: Partial<Record<UnitKind, string>> = {
  switch: 'out',
  sensor: 'out',
  gate: 'out',
  'input gate': 'out',
  SR: 'Q1',
  RS: 'Q1',
};

/** A wire before it has a number. */
interface Link {
  readonly net: number;
  readonly to: Terminal;
}

/** Units and wires of a rig. */
export function wiringOf(rig: Rig): Wiring {
  const units: Unit[] = [];
  const links: (Link | { readonly gate: string; readonly to: Terminal })[] = [];
  rig.network.nets.forEach((net) => {
    if (net.kind !== 'element') units.push(inputUnit(rig, net.kind, net.index));
  });
  for (const element of rig.network.elements) addElement(rig, element, units, links);
  for (const drive of rig.drives) {
    const target = drive.kind === 'door' ? rig.doors[drive.target] : rig.lines[drive.target];
    if (!target || drive.net < 0) continue;
    if (!units.some((u) => u.kind === drive.kind && u.name === target.name))
      units.push(plainUnit(target.name, drive.kind));
    links.push({ net: drive.net, to: { unit: target.name, pin: 'drive' } });
  }
  return { units, wires: numbered(rig, units, links) };
}

function plainUnit(name: string, kind: UnitKind): Unit {
  return { name, kind, formula: '', preset: null, count: null, response: null, initial: null };
}

function inputUnit(rig: Rig, kind: 'switch' | 'sensor', index: number): Unit {
  const { name, net } = kind === 'switch' ? rig.switches[index]! : rig.sensors[index]!;
  return { ...plainUnit(name, kind), initial: initialInputs(rig)(net) };
}

function addElement(
  rig: Rig,
  element: Element,
  units: Unit[],
  links: (Link | { readonly gate: string; readonly to: Terminal })[],
): void {
  const response = rig.controller.style === 'scan' ? null : element.response;
  if (element.kind === 'LOGIC') {
    units.push({ ...plainUnit(element.name, 'gate'), formula: gateFormula(element.inputs[0]!), response });
    inputsOf(element.inputs[0]!).forEach((net, i) =>
      links.push({ net, to: { unit: element.name, pin: String(i + 1) } }),
    );
    return;
  }
  const { kind } = element;
  const block: Unit = {
    ...plainUnit(element.name, kind),
    preset: element.preset,
    count: element.count,
    response,
  };
  element.inputs.forEach((logic, i) => {
    const to = { unit: element.name, pin: BLOCK_PINS[kind][i]! };
    if (logic.op === 'net') {
      links.push({ net: logic.net, to });
      return;
    }
    const gate = `${element.name} ${to.pin}`;
    units.push({ ...plainUnit(gate, 'input gate'), formula: gateFormula(logic) });
    inputsOf(logic).forEach((net, k) => links.push({ net, to: { unit: gate, pin: String(k + 1) } }));
    links.push({ gate, to });
  });
  units.push(block);
}

/** Distinct nets that a function reads, in order of first mention: the numbered inputs of its gate. */
function inputsOf(logic: Logic, found: number[] = []): number[] {
  if (logic.op === 'net') {
    if (!found.includes(logic.net)) found.push(logic.net);
  } else if (logic.op !== 'const') {
    inputsOf(logic.a, found);
    if (logic.op !== 'not') inputsOf(logic.b, found);
  }
  return found;
}

function gateFormula(logic: Logic): string {
  const inputs = inputsOf(logic);
  return logicText(logic, (net) => String(inputs.indexOf(net) + 1));
}

function numbered(
  rig: Rig,
  units: readonly Unit[],
  links: readonly (Link | { readonly gate: string; readonly to: Terminal })[],
): Wire[] {
  const out = (unit: string): Terminal => {
    const kind = units.find((u) => u.name === unit && !['door', 'feed', 'draw'].includes(u.kind))!.kind;
    return { unit, pin: OUTPUT[kind] ?? 'Q' };
  };
  const ended = links.map((link) => ({
    from: out('gate' in link ? link.gate : rig.network.nets[link.net]!.name),
    to: link.to,
  }));
  const order = units.map((u) => u.name);
  const sorted = ended
    .map((wire, index) => ({ ...wire, index }))
    .sort((a, b) => order.indexOf(a.from.unit) - order.indexOf(b.from.unit) || a.index - b.index);
  const places = new Map<string, number>();
  for (const { from } of sorted) places.set(from.unit, (places.get(from.unit) ?? 0) + 1);
  const used = new Map<string, number>();
  return sorted.map(({ from, to }, i) => {
    const place = (used.get(from.unit) ?? 0) + 1;
    used.set(from.unit, place);
    return { number: i + 1, from, to, place, places: places.get(from.unit)! };
  });
}
