/**
 * Every single fault of a built rig (a failure mode, IEC 60812), injected into the rig as resolved. The text is never touched; each
 * fault is a rig of its own, built from the sound one.
 */
import { inputsOf, replaceNets } from '../model/logic';
import type { Drive, Element, Logic, Rig, TimeValue } from '../model/rig';
import { say } from '../words/say';
import { drivenName, nameOf, pairName, stuckDoor } from './fault-names';

export type FaultKind =
  | 'wire-missing'
  | 'stuck'
  | 'sensor'
  | 'door'
  | 'line'
  | 'leak'
  | 'rate'
  | 'timer-preset'
  | 'timer-block'
  | 'swapped'
  | 'supply';

export interface Fault {
  readonly kind: FaultKind;
  /** The failure mode in words: `wire from hold to lower_on missing`. */
  readonly mode: string;
  /** Null: the supply is lost, the rig is the sound one without power. */
  readonly rig: Rig | null;
}

const TIMERS = ['TON', 'TOF', 'TP'] as const;
/** Slips of a preset: of a unit (ms for s, min for s), and of one digit's place. */
const SLIPS = [1000, 60, 10, 1 / 10, 1 / 60, 1 / 1000] as const;
const NEVER: Logic = { op: 'const', value: false };
const net = (index: number): Logic => ({ op: 'net', net: index });

/** Those that change what moves or runs, and when; loss of the supply is not among them. */
export function controlFaults(rig: Rig): Fault[] {
  return [
    ...missingWires(rig),
    ...stuckSignals(rig),
    ...switchFaults(rig),
    ...sensorFaults(rig),
    ...doorFaults(rig),
    ...lineFaults(rig),
    ...timerFaults(rig),
    ...swappedWires(rig),
  ];
}

/** The rig with the preset of one element set to `preset` µs. */
export function withPreset(rig: Rig, element: number, preset: number): Rig {
  return withElement(rig, element, (e) => ({ ...e, preset: e.preset && exact(e.preset, preset) }));
}

function missingWires(rig: Rig): Fault[] {
  const wires = rig.network.elements.flatMap((element, k) =>
    [...new Set(inputsOf(element))].map((from): Fault => {
      const cut = (logic: Logic): Logic => replaceNets(logic, (n) => (n === from ? NEVER : net(n)));
      return {
        kind: 'wire-missing',
        mode: say`wire from ${nameOf(rig, from)} to ${element.name} missing`,
        rig: withElement(rig, k, (e) => ({ ...e, inputs: e.inputs.map(cut) })),
      };
    }),
  );
  const drives = rig.drives.map((drive, k): Fault => ({
    kind: 'wire-missing',
    mode: say`wire from ${nameOf(rig, drive.net)} to ${drivenName(rig, drive)} missing`,
    // What nothing drives: a door rests, a line would run all the time.
    rig: drive.kind === 'door' ? { ...rig, drives: rig.drives.filter((_, i) => i !== k) } : drivenBy(rig, k, NEVER),
  }));
  return [...wires, ...drives];
}

function stuckSignals(rig: Rig): Fault[] {
  return rig.network.elements.flatMap((element, k) =>
    [false, true].map((value): Fault => ({
      kind: 'stuck',
      mode: say`${element.name} stuck ${value ? 'on' : 'off'}`,
      rig: withElement(rig, k, (e) => ({
        ...e,
        kind: 'LOGIC',
        inputs: [{ op: 'const', value }],
        preset: null,
        count: null,
      })),
    })),
  );
}

function switchFaults(rig: Rig): Fault[] {
  return rig.switches.flatMap(({ name, net: own }) =>
    [false, true].map((value): Fault => ({
      kind: 'stuck',
      mode: say`switch ${name} stuck ${value ? 'on' : 'off'}`,
      rig: rewired(rig, own, { op: 'const', value }),
    })),
  );
}

function sensorFaults(rig: Rig): Fault[] {
  return rig.sensors.flatMap((sensor): Fault[] => [
    {
      kind: 'sensor',
      mode: say`sensor ${sensor.name} inverted`,
      rig: rewired(rig, sensor.net, { op: 'not', a: net(sensor.net) }),
    },
    { kind: 'sensor', mode: say`sensor ${sensor.name} stuck off`, rig: rewired(rig, sensor.net, NEVER) },
    {
      kind: 'sensor',
      mode: say`sensor ${sensor.name} stuck on`,
      rig: rewired(rig, sensor.net, { op: 'const', value: true }),
    },
  ]);
}

function doorFaults(rig: Rig): Fault[] {
  return rig.doors.flatMap((door, k): Fault[] => {
    const held = undriven(rig, k);
    const away = door.rest === 'open' ? 'closed' : 'open';
    const doors = (change: Partial<typeof door>, of: Rig): Rig => ({
      ...of,
      doors: of.doors.map((d, i) => (i === k ? { ...d, ...change } : d)),
    });
    const slow = { opensIn: times(door.opensIn, 2), closesIn: times(door.closesIn, 2) };
    const stuck: Fault[] = [
      { kind: 'door', mode: stuckDoor(door.name, door.rest === 'open'), rig: held },
      {
        kind: 'door',
        mode: stuckDoor(door.name, away === 'open'),
        rig: doors({ rest: away }, held),
      },
    ];
    const travels = door.opensIn.nominal + door.closesIn.nominal > 0;
    return travels
      ? [...stuck, { kind: 'door', mode: say`door ${door.name} slow (half its speed)`, rig: doors(slow, rig) }]
      : stuck;
  });
}

/** Feeds and draws: stuck, where the control switches them; what runs by itself can only stand still. */
function lineFaults(rig: Rig): Fault[] {
  const alone = rig.lines.flatMap((line, target): Fault[] => {
    if (rig.drives.some((d) => d.kind === line.kind && d.target === target)) return [];
    const wired = withElementOf(rig, say`${line.kind} ${line.name} as found`, NEVER, line.at);
    const drive: Drive = {
      kind: line.kind,
      target,
      net: wired.network.nets.length - 1,
      at: line.at,
      whole: line.whole,
    };
    const dead = { ...wired, drives: [...wired.drives, drive] };
    return [{ kind: 'line', mode: `${line.kind} ${line.name} dead`, rig: dead }];
  });
  const switched = rig.drives.flatMap((drive, k): Fault[] =>
    drive.kind === 'door'
      ? []
      : [false, true].map((value) => ({
          kind: 'line',
          mode: say`${drivenName(rig, drive)} stuck ${value ? 'on' : 'off'}`,
          rig: drivenBy(rig, k, { op: 'const', value }),
        })),
  );
  return [...switched, ...alone];
}

function timerFaults(rig: Rig): Fault[] {
  return rig.network.elements.flatMap((element, k): Fault[] => {
    const { preset } = element;
    if (!preset) return [];
    const slips = SLIPS.map((factor) => ({ factor, to: Math.round(preset.nominal * factor) }));
    return [
      ...slips.map(({ factor, to }): Fault => ({
        kind: 'timer-preset',
        mode:
          factor > 1
            ? say`preset of ${element.name} ${factor} times too long`
            : say`preset of ${element.name} ${Math.round(1 / factor)} times too short`,
        rig: withPreset(rig, k, to),
      })),
      ...TIMERS.filter((kind) => kind !== element.kind).map((kind): Fault => ({
        kind: 'timer-block',
        mode: say`${element.name}: ${kind} fitted for ${element.kind}`,
        rig: withElement(rig, k, (e) => ({ ...e, kind })),
      })),
    ];
  });
}

function swappedWires(rig: Rig): Fault[] {
  const driven = rig.drives.map((drive, k) => ({ drive, k }));
  // Wires that carry one signal may change places.
  const unlike = pairs(driven).filter(([a, b]) => a.drive.net !== b.drive.net);
  const drives = unlike.map(([a, b]): Fault => ({
    kind: 'swapped',
    mode: say`wires to ${pairName(rig, a.drive, b.drive)} swapped`,
    rig: later(rig, 'drives', () =>
      rig.drives.map((d, i) => (i === a.k ? { ...d, net: b.drive.net } : i === b.k ? { ...d, net: a.drive.net } : d)),
    ),
  }));
  const inputs = rig.network.elements.flatMap((element, k): Fault[] =>
    element.inputs.length === 2
      ? [
          {
            kind: 'swapped',
            mode: say`the two input wires of ${element.name} swapped`,
            rig: withElement(rig, k, (e) => ({ ...e, inputs: [...e.inputs].reverse() })),
          },
        ]
      : [],
  );
  const sensors = pairs(rig.sensors).map(([a, b]): Fault => ({
    kind: 'swapped',
    mode: say`wires of sensors ${a.name} and ${b.name} swapped`,
    rig: exchanged(rig, a.net, b.net),
  }));
  return [...drives, ...inputs, ...sensors];
}

// ---------------------------------------------------------------- rewiring

const pairs = <T>(items: readonly T[]): [T, T][] =>
  items.flatMap((a, i) => items.slice(i + 1).map((b): [T, T] => [a, b]));

const exact = (time: TimeValue, value: number): TimeValue => ({ ...time, nominal: value, min: value, max: value });

const times = (time: TimeValue, factor: number): TimeValue => exact(time, Math.round(time.nominal * factor));

/** The rig with one property made when it is first read: most of many thousand faults of a large rig are never followed. */
function later<K extends keyof Rig>(rig: Rig, key: K, make: () => Rig[K]): Rig {
  let made: Rig[K] | undefined;
  return Object.defineProperty({ ...rig }, key, { get: () => (made ??= make()), enumerable: true });
}

function withElement(rig: Rig, index: number, change: (element: Element) => Element): Rig {
  const { nets, elements } = rig.network;
  return later(rig, 'network', () => ({ nets, elements: elements.map((e, k) => (k === index ? change(e) : e)) }));
}

/** Nothing moves the door: neither a drive nor a sequence. */
function undriven(rig: Rig, door: number): Rig {
  return {
    ...rig,
    drives: rig.drives.filter((d) => d.kind !== 'door' || d.target !== door),
    sequences: rig.sequences.map((s) => ({
      ...s,
      steps: s.steps.map((step) => ({ ...step, doors: step.doors.filter((d) => d !== door) })),
    })),
  };
}

/** Every reader of `of` sees `by` instead; a drive or a sequence gets an element of its own for it. */
function rewired(rig: Rig, of: number, by: Logic): Rig {
  const see = (logic: Logic): Logic => replaceNets(logic, (n) => (n === of ? by : net(n)));
  const elements = rig.network.elements.map((e) => ({ ...e, inputs: e.inputs.map(see) }));
  const direct = rig.drives.some((d) => d.net === of) || rig.sequences.some((s) => s.triggerNet === of);
  if (!direct) return { ...rig, network: { ...rig.network, elements } };
  const at = rig.drives.find((d) => d.net === of)?.at ?? rig.sequences[0]!.at;
  const wired = withElementOf(
    { ...rig, network: { ...rig.network, elements } },
    say`${nameOf(rig, of)} as wired`,
    by,
    at,
  );
  const added = wired.network.nets.length - 1;
  return {
    ...wired,
    drives: rig.drives.map((d) => (d.net === of ? { ...d, net: added } : d)),
    sequences: rig.sequences.map((s) => (s.triggerNet === of ? { ...s, triggerNet: added } : s)),
  };
}

/** One drive sees `by` instead of its net. */
function drivenBy(rig: Rig, drive: number, by: Logic): Rig {
  const { at } = rig.drives[drive]!;
  const wired = withElementOf(rig, say`${drivenName(rig, rig.drives[drive]!)} as wired`, by, at);
  const added = wired.network.nets.length - 1;
  return { ...wired, drives: rig.drives.map((d, k) => (k === drive ? { ...d, net: added } : d)) };
}

/** The rig with an element more, the last, which answers at once. */
function withElementOf(rig: Rig, name: string, by: Logic, at: Drive['at']): Rig {
  const { nets, elements } = rig.network;
  const instant: TimeValue = { nominal: 0, min: 0, max: 0, at };
  const element: Element = {
    name,
    kind: 'LOGIC',
    inputs: [by],
    preset: null,
    count: null,
    response: instant,
    net: nets.length,
    at,
  };
  return {
    ...rig,
    network: {
      nets: [...nets, { name, kind: 'element', index: elements.length }],
      elements: [...elements, element],
    },
  };
}

function exchanged(rig: Rig, a: number, b: number): Rig {
  const other = (n: number): number => (n === a ? b : n === b ? a : n);
  const see = (logic: Logic): Logic => replaceNets(logic, (n) => net(other(n)));
  return {
    ...rig,
    network: { ...rig.network, elements: rig.network.elements.map((e) => ({ ...e, inputs: e.inputs.map(see) })) },
    drives: rig.drives.map((d) => ({ ...d, net: other(d.net) })),
    sequences: rig.sequences.map((s) => ({ ...s, triggerNet: s.triggerNet === null ? null : other(s.triggerNet) })),
  };
}
