/** Rigs and facts made by hand for the tests of pictures: no parser, no engine; every time below is worked out in its comment. Presets of its fixtures: common practice, no source. */
import type { Source } from '../../server/core/model/problem';
import type { Chamber, Door, Element, Logic, Net, Requirement, Rig, TimeValue } from '../../server/core/model/rig';
import type { RigFacts } from '../../server/core/run/facts';
import type { DoorFacts, Interval, PairFacts, StrokeFacts } from '../../server/core/timing/facts';
import type { DoorMove, NetEdge, Trace } from '../../server/core/timing/trace';

let place = 0;
/** A fresh place in `test.rig`. */
export function at(): Source {
  place += 10;
  return { uri: 'file:///test.rig', start: place, end: place + 5 };
}

export const ms = (value: number): number => value * 1_000;

export function time(us: number, spread = 0): TimeValue {
  return { nominal: us, min: us - spread, max: us + spread, at: at() };
}

const quantity = (nominal: number) => ({ nominal, min: nominal, max: nominal, at: at() });
const item = (name: string) => ({ name, at: at(), whole: at(), doc: '' });

export function door(name: string, travel = ms(300), pocket = 0.25, bore = 0.3): Door {
  return {
    ...item(name),
    pocket: quantity(pocket),
    clearance: quantity(0),
    opensIn: time(travel),
    closesIn: time(travel),
    area: quantity((Math.PI * bore * bore) / 4),
    discharge: null,
    kv: null,
    xt: null,
    conductance: null,
    ratio: null,
    leak: null,
    thrust: null,
    rest: 'closed',
    powerMoving: null,
    powerHeld: null,
  };
}

export function chamber(name: string, volume: number): Chamber {
  return {
    ...item(name),
    volume: quantity(volume),
    pressure: quantity(102_000),
    density: null,
    mass: null,
    temperature: null,
    level: null,
    floorArea: null,
    temperatureLimit: null,
    wall: null,
    coolsIn: null,
    endless: false,
    elevation: null,
    limit: null,
    tight: null,
  };
}

export function requirement(
  metric: 'overlap' | 'gap',
  doors: [number, string][],
  low: number,
  high: number,
  text: string,
): Requirement {
  return {
    text,
    metric,
    metricAt: at(),
    args: doors.map(([index, name]) => ({ kind: 'item', of: 'door', index, name, at: at() })),
    comparison: { operator: 'in', dimension: 'time', low: quantity(low), high: quantity(high), at: at() },
    during: null,
    at: at(),
  };
}

export function rig(name: string, parts: Partial<Rig>): Rig {
  return {
    name,
    title: '',
    at: at(),
    whole: at(),
    doc: '',
    medium: null,
    chambers: [],
    doors: [],
    stacks: [],
    lines: [],
    supply: null,
    controller: { style: 'response', time: time(ms(50)), timerAccuracy: null, at: null },
    switches: [],
    sensors: [],
    signals: [],
    drives: [],
    sequences: [],
    requirements: [],
    preferences: [],
    choosable: [],
    scenarios: [],
    network: { nets: [], elements: [] },
    ...parts,
  };
}

/** One stack through all chambers and doors as listed: `c` and `d` with their index. */
export function stack(members: string): Rig['stacks'][number] {
  const parts = members
    .split(' ')
    .map((m) => ({ kind: m[0] === 'c' ? 'chamber' : 'door', index: Number(m.slice(1)), at: at() }) as const);
  return { whole: at(), members: parts, moves: null, tight: null };
}

/** Windows of full openings: [starts to open, starts to close] of a door with the given travel. */
export function windowsOf(openings: [number, number][], travel: number): DoorFacts['windows'] {
  return openings.map(([from, to]) => ({
    commanded: { from, to },
    notShut: { from, to: to + travel },
    fullyOpen: to > from + travel ? { from: from + travel, to } : null,
    commandedParts: [{ from, to }],
    fullyOpenParts: to > from + travel ? [{ from: from + travel, to }] : [],
    openBefore: false,
    opensBecause: [],
    closesBecause: [],
  }));
}

function meet(a: readonly (Interval | null)[], b: readonly (Interval | null)[]): Interval[] {
  return a.flatMap((x) =>
    b.flatMap((y) => {
      if (!x || !y) return [];
      const [from, to] = [Math.max(x.from, y.from), Math.min(x.to!, y.to!)];
      return from < to ? [{ from, to }] : [];
    }),
  );
}

export function pairsOf(doors: readonly DoorFacts[]): PairFacts[] {
  return doors.flatMap((a, i) =>
    doors.slice(i + 1).map((b) => {
      const bothFullyOpen = meet(
        a.windows.map((w) => w.fullyOpen),
        b.windows.map((w) => w.fullyOpen),
      );
      const bothNotShut = meet(
        a.windows.map((w) => w.notShut),
        b.windows.map((w) => w.notShut),
      );
      const lengths = bothFullyOpen.map((x) => x.to! - x.from);
      const [overlap, leastOverlap] = lengths.length > 0 ? [Math.max(...lengths), Math.min(...lengths)] : [null, null];
      return { doors: [a.door, b.door] as const, bothNotShut, bothFullyOpen, overlap, leastOverlap, gap: null };
    }),
  );
}

export function stroke(trace: Trace, doors: readonly DoorFacts[], parts: Partial<StrokeFacts> = {}): StrokeFacts {
  return {
    sensor: 0,
    trigger: { kind: 'sensor', net: 1, name: 'full' },
    becomes: true,
    trace,
    doors,
    pairs: parts.pairs ?? pairsOf(doors),
    straightThrough: [],
    strokeEnds: Math.max(0, ...doors.flatMap((d) => d.windows.map((w) => w.notShut.to ?? 0))),
    repeat: null,
    strokeCount: null,
    lead: 0,
    settlesAfter: 0,
    strokesPerPeriod: 1,
    timers: [],
    pattern: null,
    intervals: [],
    starts: [0],
    startNet: 0,
    startValue: true,
    ...parts,
  };
}

export function facts(of: Rig, strokes: readonly StrokeFacts[], restTrace?: Trace): RigFacts {
  for (const s of strokes) {
    const sensor = of.sensors[s.sensor];
    if (sensor) Object.assign(s, { trigger: { kind: 'sensor', net: sensor.net, name: sensor.name } });
  }
  const trace = restTrace ?? {
    start: 0,
    end: ms(1_000),
    initial: of.network.nets.map(() => false),
    edges: [],
    doors: of.doors.map(() => ({ initial: 0, moves: [] })),
    stopped: null,
  };
  const atRest = { trace, moves: false, movingDoors: [], loop: null, openDoors: [] };
  return { rig: of, timing: { strokes, turned: [], atRest, behaviours: [], incomplete: null }, flow: null };
}

// ---------------------------------------------------------------- the worked example of the reference: a digester's gas bank

const read = (net: number): Logic => ({ op: 'net', net });
const not = (a: Logic): Logic => ({ op: 'not', a });
const and = (a: Logic, b: Logic): Logic => ({ op: 'and', a, b });

function element(name: string, kind: Element['kind'], net: number, input: Logic, preset: number | null): Element {
  return {
    name,
    kind,
    inputs: [input],
    preset: preset === null ? null : time(preset),
    count: null,
    response: time(ms(50)),
    net,
    at: at(),
  };
}

const NETS = ['run', 'ready', 'start', 'upper_on', 'middle_on', 'lower_on/TON', 'lower_on', 'hold'];

/** Net edges of one stroke that starts when `start` rises at `s`: [time, net, value, cause (place in this list), preset]. */
function strokeEdges(s: number): [number, number, boolean, number, number][] {
  return [
    [s, 2, true, -1, 0],
    [s + 50, 3, true, 0, 0],
    [s + 50, 4, true, 0, 0],
    [s + 100, 7, true, 1, 0],
    [s + 150, 2, false, 3, 0], // hold is back after 50 ms: start was on for 150 ms
    [s + 1_700, 3, false, 4, 1_500], // 150 + 1500 + 50
    [s + 2_100, 5, true, 2, 2_000], // 50 + 2000 + 50
    [s + 2_150, 6, true, 6, 0],
    [s + 2_700, 4, false, 4, 2_500], // 150 + 2500 + 50
    [s + 2_750, 5, false, 8, 0],
    [s + 3_800, 6, false, 9, 1_000], // 2750 + 1000 + 50
    [s + 11_750, 7, false, 5, 10_000], // 1700 + 10000 + 50
  ];
}

function biogasTrace(): Trace {
  const edges: NetEdge[] = [{ t: 0, net: 1, value: true, cause: -1, preset: 0, response: 0 }];
  const moves: DoorMove[][] = [[], [], []];
  let cause = 0;
  for (const s of [50, 11_850]) {
    const base = edges.length;
    for (const [t, net, value, from, preset] of strokeEdges(s)) {
      if (t > 17_000) continue;
      const lane = { 3: 0, 4: 1, 6: 2 }[net];
      if (lane !== undefined)
        moves[lane]!.push({
          t: ms(t),
          from: value ? 0 : 1,
          to: value ? 1 : 0,
          arrives: ms(t + 300),
          cause: edges.length,
        });
      edges.push({ t: ms(t), net, value, cause: from < 0 ? cause : base + from, preset: ms(preset), response: ms(50) });
    }
    cause = edges.length - 1;
  }
  return {
    start: 0,
    end: ms(17_000),
    initial: [true, false, false, false, false, false, false, false],
    edges,
    doors: moves.map((m) => ({ initial: 0, moves: m })),
    stopped: null,
  };
}

/** Upper 0.10–1.75 s, middle 0.10–2.75 s, lower 2.20–3.85 s commanded; travel 300 ms; repeat 11.80 s; gap 150 ms; overlap 250 ms. */
export function biogas(): RigFacts {
  const signals = [2, 3, 4, 6, 7];
  const elements = [
    element('start', 'LOGIC', 2, and(and(read(0), read(1)), not(read(7))), null),
    element('upper_on', 'TOF', 3, read(2), ms(1_500)),
    element('middle_on', 'TOF', 4, read(2), ms(2_500)),
    element('lower_on/TON', 'TON', 5, read(4), ms(2_000)),
    element('lower_on', 'TOF', 6, read(5), ms(1_000)),
    element('hold', 'TOF', 7, read(3), ms(10_000)),
  ];
  const nets: Net[] = NETS.map((name, k) => ({
    name,
    kind: k === 0 ? 'switch' : k === 1 ? 'sensor' : 'element',
    index: k < 2 ? 0 : k - 2,
  }));
  const of = rig('biogas_bank', {
    title: 'Digester gas bank',
    medium: { ...item('biogas'), phase: 'gas' } as Rig['medium'],
    chambers: [chamber('receiver', 6), chamber('store', 1.5)],
    doors: [door('upper'), door('middle'), door('lower')],
    stacks: [stack('c0 d0 d1 d2 c1')],
    switches: [{ ...item('run'), initial: true, minOn: null, minOff: null, net: 0 }],
    sensors: [{ ...item('ready'), chamber: 0, on: null, clears: null, minOn: null, minOff: null, net: 1 }],
    signals: signals.map((net) => ({ ...item(NETS[net]!), net, elements: net === 6 ? [3, 4] : [net - 2] })),
    drives: [3, 4, 6].map((net, target) => ({ kind: 'door' as const, target, net, at: at(), whole: at() })),
    requirements: [
      requirement(
        'overlap',
        [
          [0, 'upper'],
          [1, 'middle'],
        ],
        ms(1_000),
        ms(1_000_000),
        'overlap(upper, middle) >= 1.0 s',
      ),
      requirement(
        'overlap',
        [
          [1, 'middle'],
          [2, 'lower'],
        ],
        ms(50),
        ms(400),
        'overlap(middle, lower) in 50 ms .. 400 ms',
      ),
      requirement(
        'gap',
        [
          [0, 'upper'],
          [2, 'lower'],
        ],
        ms(100),
        ms(1_000_000),
        'gap(upper, lower) >= 100 ms',
      ),
    ],
    network: { nets, elements },
  });
  const doors: DoorFacts[] = [
    [ms(100), ms(1_750)],
    [ms(100), ms(2_750)],
    [ms(2_200), ms(3_850)],
  ].map((w, k) => ({ door: k, windows: windowsOf([w as [number, number]], ms(300)) }));
  return facts(of, [stroke(biogasTrace(), doors, { repeat: ms(11_800) })]);
}

/** Doors only, opened as listed and driven by nobody: for pictures of many doors, odd names, faults, repeats. */
export function bare(
  name: string,
  lanes: [string, [number, number][]][],
  travel: number,
  parts: Partial<Rig> = {},
  facets: Partial<StrokeFacts> = {},
): RigFacts {
  const of = rig(name, {
    doors: lanes.map(([n]) => door(n, travel)),
    stacks: lanes.length > 0 ? [stack(['c0', ...lanes.map((_, k) => `d${k}`), 'c1'].join(' '))] : [],
    sensors: [{ ...item('full'), chamber: -1, on: null, clears: null, minOn: null, minOff: null, net: 0 }],
    network: { nets: [{ name: 'full', kind: 'sensor', index: 0 }], elements: [] },
    ...parts,
  });
  const doors: DoorFacts[] = lanes.map(([, openings], k) => ({ door: k, windows: windowsOf(openings, travel) }));
  const moves = lanes.map(([, openings]) =>
    openings.flatMap(([from, to]): DoorMove[] => [
      { t: from, from: 0, to: 1, arrives: from + travel, cause: 0 },
      { t: to, from: 1, to: 0, arrives: to + travel, cause: 0 },
    ]),
  );
  const end = Math.max(...moves.flat().map((m) => m.arrives)) + ms(500);
  const trace: Trace = {
    start: 0,
    end,
    initial: [false],
    edges: [{ t: 0, net: 0, value: true, cause: -1, preset: 0, response: 0 }],
    doors: moves.map((m) => ({ initial: 0, moves: m })),
    stopped: null,
  };
  return facts(of, [stroke(trace, doors, facets)]);
}
