/** Builds resolved rigs by hand, without the parser: what the timing tests run on. Times in whole microseconds. */
import type { BlockKind, Door, Element, Logic, Net, Rig, Sensor, Switch, TimeValue } from '../../server/core/model/rig';
import type { Source } from '../../server/core/model/problem';

export const NOWHERE: Source = { uri: 'test:rig', start: 0, end: 0 };
export const MS = 1_000;
export const S = 1_000_000;

export type Term =
  | string
  | boolean
  | { readonly op: 'not'; readonly a: Term }
  | { readonly op: 'and' | 'or' | 'xor'; readonly a: Term; readonly b: Term }
  | Call;
export interface Call {
  readonly op: 'call';
  readonly kind: BlockKind;
  readonly args: readonly Term[];
  readonly preset: number | null;
  readonly count: number | null;
}

export const not = (a: Term): Term => ({ op: 'not', a });
const chain =
  (op: 'and' | 'or' | 'xor') =>
  (...terms: Term[]): Term =>
    terms.reduce((a, b) => ({ op, a, b }));
export const and = chain('and');
export const or = chain('or');
export const xor = chain('xor');
const call = (kind: BlockKind, args: Term[], preset: number | null, count: number | null = null): Call => ({
  op: 'call',
  kind,
  args,
  preset,
  count,
});
export const TON = (input: Term, preset: number): Call => call('TON', [input], preset);
export const TOF = (input: Term, preset: number): Call => call('TOF', [input], preset);
export const TP = (input: Term, preset: number): Call => call('TP', [input], preset);
export const R_TRIG = (clk: Term): Call => call('R_TRIG', [clk], null);
export const F_TRIG = (clk: Term): Call => call('F_TRIG', [clk], null);
export const SR = (set: Term, reset: Term): Call => call('SR', [set, reset], null);
export const RS = (set: Term, reset: Term): Call => call('RS', [set, reset], null);
export const CTU = (up: Term, reset: Term, count: number): Call => call('CTU', [up, reset], null, count);

export interface DoorSketch {
  readonly travel?: number;
  readonly opensIn?: number;
  readonly closesIn?: number;
  readonly rest?: 'open' | 'closed';
}
export interface SignalSketch {
  readonly is: Term;
  readonly responds: number;
}
export interface Sketch {
  readonly name?: string;
  readonly response?: number;
  readonly scan?: number;
  readonly switches?: Readonly<Record<string, boolean>>;
  /** Sensor name → side of its threshold (`below` is on over an empty chamber). */
  readonly sensors?: Readonly<Record<string, 'above' | 'below'>>;
  readonly signals?: Readonly<Record<string, Term | SignalSketch>>;
  readonly doors?: Readonly<Record<string, number | DoorSketch>>;
  readonly drives?: Readonly<Record<string, string>>;
  readonly stacks?: readonly (readonly string[])[];
}

export const time = (nominal: number, plusMinus = 0): TimeValue => ({
  nominal,
  min: nominal - plusMinus,
  max: nominal + plusMinus,
  at: NOWHERE,
});
const item = (name: string) => ({ name, at: NOWHERE, whole: NOWHERE, doc: '' });

function isSignalSketch(x: Term | SignalSketch): x is SignalSketch {
  return typeof x === 'object' && 'is' in x;
}

/** A rig with the given network; everything the timing engine does not read is empty. */
export function sketch(s: Sketch): Rig {
  const nets: Net[] = [];
  const elements: Element[] = [];
  const response = s.scan === undefined ? (s.response ?? 0) : 0;
  const switches: Switch[] = Object.entries(s.switches ?? {}).map(([name, initial], index) => {
    nets.push({ name, kind: 'switch', index });
    return { ...item(name), initial, minOn: null, minOff: null, net: nets.length - 1 };
  });
  const threshold = (side: 'above' | 'below') =>
    ({ sensed: 'pressure', side, value: { nominal: 150_000, min: 150_000, max: 150_000, at: NOWHERE } }) as const;
  const sensors: Sensor[] = Object.entries(s.sensors ?? {}).map(([name, side], index) => {
    nets.push({ name, kind: 'sensor', index });
    const on = threshold(side);
    return { ...item(name), chamber: -1, on, clears: null, minOn: null, minOff: null, net: nets.length - 1 };
  });

  // Elements first, inner before outer, so that every signal's net is known before terms are bound to nets.
  interface Planned {
    readonly kind: BlockKind;
    readonly args: readonly Term[];
    readonly preset: number | null;
    readonly count: number | null;
    readonly name: string;
    readonly response: number;
    readonly net: number;
  }
  const planned: Planned[] = [];
  const netOfCall = new Map<Call, number>();
  const plan = (p: Omit<Planned, 'net'>) => {
    nets.push({ name: p.name, kind: 'element', index: planned.length });
    planned.push({ ...p, net: nets.length - 1 });
    return nets.length - 1;
  };
  const planCalls = (term: Term, signal: string, counts: Map<string, number>, outermost: boolean): void => {
    if (typeof term !== 'object') return;
    if (term.op !== 'call') {
      planCalls(term.a, signal, counts, false);
      if (term.op !== 'not') planCalls(term.b, signal, counts, false);
      return;
    }
    term.args.forEach((arg) => planCalls(arg, signal, counts, false));
    if (outermost) return;
    const n = (counts.get(term.kind) ?? 0) + 1;
    counts.set(term.kind, n);
    const name = `${signal}/${term.kind}${n > 1 ? `#${n}` : ''}`;
    netOfCall.set(term, plan({ ...term, name, response }));
  };
  const signals = Object.entries(s.signals ?? {}).map(([name, given]) => {
    const term = isSignalSketch(given) ? given.is : given;
    const own = isSignalSketch(given) && s.scan === undefined ? given.responds : response;
    const first = planned.length;
    planCalls(term, name, new Map(), true);
    const outer = typeof term === 'object' && term.op === 'call' ? term : null;
    const net = plan(
      outer
        ? { ...outer, name, response: own }
        : { kind: 'LOGIC', args: [term], preset: null, count: null, name, response: own },
    );
    return { ...item(name), net, elements: planned.slice(first).map((_, i) => first + i) };
  });
  const netNamed = new Map(nets.map((net, index) => [net.name, index]));
  const bind = (term: Term): Logic => {
    if (typeof term === 'boolean') return { op: 'const', value: term };
    if (typeof term === 'string') {
      const net = netNamed.get(term);
      if (net === undefined) throw new Error(`no net named ${term}`);
      return { op: 'net', net };
    }
    if (term.op === 'call') return { op: 'net', net: netOfCall.get(term)! };
    if (term.op === 'not') return { op: 'not', a: bind(term.a) };
    return { op: term.op, a: bind(term.a), b: bind(term.b) };
  };
  for (const p of planned)
    elements.push({
      name: p.name,
      kind: p.kind,
      inputs: p.args.map(bind),
      preset: p.preset === null ? null : time(p.preset),
      count: p.count,
      response: time(p.response),
      net: p.net,
      at: NOWHERE,
    });

  const doors = Object.entries(s.doors ?? {}).map(([name, given]): Door => {
    const d: DoorSketch = typeof given === 'number' ? { travel: given } : given;
    return {
      ...item(name),
      pocket: null,
      clearance: null,
      opensIn: time(d.opensIn ?? d.travel ?? 0),
      closesIn: time(d.closesIn ?? d.travel ?? 0),
      area: null,
      discharge: null,
      kv: null,
      xt: null,
      conductance: null,
      ratio: null,
      leak: null,
      thrust: null,
      rest: d.rest ?? 'closed',
      powerMoving: null,
      powerHeld: null,
    };
  });
  const doorNamed = (name: string) => doors.findIndex((d) => d.name === name);
  return {
    ...item(s.name ?? 'bench'),
    title: '',
    medium: null,
    chambers: [],
    doors,
    stacks: (s.stacks ?? []).map((members) => ({
      whole: NOWHERE,
      members: members.map((name) => ({ kind: 'door' as const, index: doorNamed(name), at: NOWHERE })),
      moves: null,
      tight: null,
    })),
    lines: [],
    supply: null,
    controller: {
      style: s.scan === undefined ? 'response' : 'scan',
      time: time(s.scan ?? response),
      timerAccuracy: null,
      at: null,
    },
    switches,
    sensors,
    signals,
    drives: Object.entries(s.drives ?? {}).map(([door, net]) => ({
      kind: 'door' as const,
      target: doorNamed(door),
      net: netNamed.get(net)!,
      at: NOWHERE,
      whole: NOWHERE,
    })),
    sequences: [],
    requirements: [],
    preferences: [],
    choosable: [],
    scenarios: [],
    network: { nets, elements },
  };
}

/** Index of a net by name. */
export function netOf(rig: Rig, name: string): number {
  return rig.network.nets.findIndex((net) => net.name === name);
}

/** The worked example of the language page, by hand: see the arithmetic in `tests/timing/analyse.test.ts`. */
export function workedExample(): Rig {
  return sketch({
    name: 'biogas_bank',
    response: 50 * MS,
    switches: { run: true },
    sensors: { ready: 'above' },
    signals: {
      start: and('run', 'ready', not('hold')),
      upper_on: TOF('start', 1.5 * S),
      middle_on: TOF('start', 2.5 * S),
      lower_on: TOF(TON('middle_on', 2 * S), 1 * S),
      hold: TOF('upper_on', 10 * S),
    },
    doors: { upper: 300 * MS, middle: 300 * MS, lower: 300 * MS },
    drives: { upper: 'upper_on', middle: 'middle_on', lower: 'lower_on' },
    stacks: [['upper', 'middle', 'lower']],
  });
}
