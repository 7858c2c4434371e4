/** The build sheet: its list of connections rebuilds the network; its times are those of the trace; its text cannot break out. */
import { describe, expect, it } from 'vitest';
import type { Element, Logic, Rig } from '../../../server/core/model/rig';
import { pageHtml } from '../../../server/core/report/page/html';
import { escapeMarkdown, pageMarkdown } from '../../../server/core/report/page/markdown';
import { wiringOf, type Unit, type Wire, type Wiring } from '../../../server/core/report/sheet/connections';
import { sheetOf } from '../../../server/core/report/sheet/sheet';
import { analyseRig } from '../../../server/core/run/analyse';
import { lasting } from '../../support/driven';
import { NOWHERE } from '../../support/network';
import { faultReport } from '../../../server/core/readings/faults';
import { randomCase, type Stimulus } from '../../support/random';
import { rigOf } from '../../support/rigs';
import { sampleRigs } from '../../support/samples';
import { initialInputs, createEngine } from '../../../server/core/timing/engine';

/** A formula of numbered inputs, `1 and not (2 or 3)`, read by a small parser of its own. */
function parseFormula(text: string, netOf: (input: number) => number): Logic {
  const words = text.match(/\d+|[a-z]+|[()]/g)!;
  let at = 0;
  const RANK = ['xor', 'or', 'and'] as const;
  const binary = (rank: number): Logic => {
    if (rank === RANK.length) return unary();
    let left = binary(rank + 1);
    while (words[at] === RANK[rank]) {
      at++;
      left = { op: RANK[rank]!, a: left, b: binary(rank + 1) };
    }
    return left;
  };
  const unary = (): Logic => {
    const word = words[at++]!;
    if (word === 'not') return { op: 'not', a: unary() };
    if (word === '(') {
      const inner = binary(0);
      at++;
      return inner;
    }
    if (word === 'true' || word === 'false') return { op: 'const', value: word === 'true' };
    return { op: 'net', net: netOf(Number(word)) };
  };
  return binary(0);
}

const PINS: Record<string, string[]> = {
  TON: ['IN'],
  TOF: ['IN'],
  TP: ['IN'],
  R_TRIG: ['CLK'],
  F_TRIG: ['CLK'],
  SR: ['S1', 'R'],
  RS: ['S', 'R1'],
  CTU: ['CU', 'R'],
};

/** A network from nothing but the units and wires of the sheet. */
function rebuilt(rig: Rig, { units, wires }: Wiring): Rig {
  const inputs = units.filter((u) => u.kind === 'switch' || u.kind === 'sensor');
  const elements = units.filter((u) => !['switch', 'sensor', 'input gate', 'door', 'feed', 'draw'].includes(u.kind));
  const netOf = new Map([...inputs, ...elements].map((u, i) => [u.name, i] as const));
  const feeder = (unit: string, pin: string): Wire => {
    const found = wires.filter((w) => w.to.unit === unit && w.to.pin === pin);
    expect(found, `${unit} : ${pin}`).toHaveLength(1);
    return found[0]!;
  };
  const gateLogic = (gate: Unit): Logic =>
    parseFormula(gate.formula, (input) => netOf.get(feeder(gate.name, String(input)).from.unit)!);
  const pinLogic = (unit: Unit, pin: string): Logic => {
    const from = feeder(unit.name, pin).from.unit;
    const gate = units.find((u) => u.name === from && u.kind === 'input gate');
    return gate ? gateLogic(gate) : { op: 'net', net: netOf.get(from)! };
  };
  const zero = { nominal: 0, min: 0, max: 0, at: NOWHERE };
  const made = elements.map((u): Element => ({
    name: u.name,
    kind: u.kind === 'gate' ? 'LOGIC' : (u.kind as Element['kind']),
    inputs: u.kind === 'gate' ? [gateLogic(u)] : PINS[u.kind]!.map((pin) => pinLogic(u, pin)),
    preset: u.preset,
    count: u.count,
    response: u.response ?? zero,
    net: netOf.get(u.name)!,
    at: NOWHERE,
  }));
  const nets = [
    ...inputs.map((u) => ({ name: u.name, kind: u.kind as 'switch' | 'sensor', index: 0 })),
    ...elements.map((u, i) => ({ name: u.name, kind: 'element' as const, index: i })),
  ];
  return { ...rig, network: { nets, elements: made }, drives: [], switches: [], sensors: [], sequences: [] };
}

function edgesByName(
  rig: Rig,
  initially: (name: string) => boolean,
  stimuli: readonly Stimulus[],
  names: readonly string[],
) {
  const engine = createEngine(rig, { inputs: (net) => initially(rig.network.nets[net]!.name) });
  const byName = new Map(rig.network.nets.map((n, i) => [n.name, i] as const));
  for (const s of stimuli) engine.setInput(byName.get(names[s.net]!)!, s.value, s.t);
  engine.advanceTo(3_000_000);
  return engine
    .trace()
    .edges.map((e) => `${e.t} ${rig.network.nets[e.net]!.name} ${e.value}`)
    .sort();
}

function comparesEqual(rig: Rig, stimuli: readonly Stimulus[]): number {
  const names = rig.network.nets.map((n) => n.name);
  const initially = initialInputs(rig);
  const on = new Map(names.map((name, i) => [name, initially(i)] as const));
  const wiring = wiringOf(rig);
  const ours = edgesByName(rig, (name) => on.get(name)!, stimuli, names);
  // From the list alone: what an input gives at power-on stands in the list too.
  const listed = new Map(wiring.units.map((u) => [u.name, u.initial ?? false] as const));
  expect(edgesByName(rebuilt(rig, wiring), (name) => listed.get(name) ?? false, stimuli, names)).toEqual(ours);
  return ours.length;
}

describe('the list of connections', () => {
  it.each(sampleRigs().map((rig) => [rig.name, rig] as const))('of sample %s rebuilds the network', (_, rig) => {
    const stimuli = rig.sensors.map(({ net }, i) => ({ t: 100_000 + 20_000 * i, net, value: true }));
    expect(comparesEqual(rig, stimuli)).toBeGreaterThan(0);
    const { wires } = wiringOf(rig);
    expect(new Set(wires.map((w) => `${w.to.unit}:${w.to.pin} ${w.from.unit}`)).size).toBe(wires.length);
  });

  it('rebuilds random networks, edge for edge', () => {
    let edges = 0;
    for (let seed = 1; seed <= Number(process.env.SHEET_CASES ?? 200); seed++) {
      const { rig, stimuli } = randomCase(seed);
      edges += comparesEqual(rig, lasting(stimuli));
    }
    expect(edges).toBeGreaterThan(1000);
  });
});

/** Rows of the Markdown table below the caption that begins so, marks of Markdown taken off. */
function printedRows(markdown: string, caption: string): string[][] {
  const lines = markdown.split('\n');
  const at = lines.findIndex((line) => line.startsWith(`**${caption}`));
  if (at < 0) return [];
  const rows: string[][] = [];
  for (const line of lines.slice(at + 4)) {
    if (!line.startsWith('|')) break;
    const cells = line.replace(/^\| | \|$/g, '').split(' | ');
    rows.push(cells.map((cell) => cell.replace(/\\(.)/g, '$1').replace(/&lt;/g, '<').replace(/&amp;/g, '&')));
  }
  return rows;
}

/** Whole microseconds of a printed time such as `1 min 30 s` or `40 ms (30 ms to 50 ms)`: what is set is the first one. */
function printedTime(text: string): number {
  const sizes: Record<string, number> = { us: 1, ms: 1e3, s: 1e6, min: 6e7, h: 3.6e9 };
  const parts = [...text.replace(/ \(.*/, '').matchAll(/([\d.]+) (us|ms|s|min|h)/g)];
  expect(parts.length, text).toBeGreaterThan(0);
  return Math.round(parts.reduce((sum, [, n, unit]) => sum + Number(n) * sizes[unit!]!, 0));
}

/** Units and wires as they are read off the printed sheet. */
function printedWiring(markdown: string): Wiring {
  const time = (us: number) => ({ nominal: us, min: us, max: us, at: NOWHERE });
  const inputs = printedRows(markdown, 'Inputs').map(
    ([name, kind, , atPower]) =>
      ({ name, kind, formula: '', preset: null, count: null, response: null, initial: atPower === 'on' }) as Unit,
  );
  const control = printedRows(markdown, 'Control').map(([name, kind, setting, answers]): Unit => {
    const [, mark, value] = /^(PT|PV) (.*)$/.exec(setting!) ?? [];
    return {
      name: name!,
      kind: kind as Unit['kind'],
      formula: mark === undefined ? setting! : '',
      preset: mark === 'PT' ? time(printedTime(value!)) : null,
      count: mark === 'PV' ? Number(value) : null,
      response: answers === 'at once' ? null : time(printedTime(answers!)),
      initial: null,
    };
  });
  const terminal = (text: string) => ({ unit: text.replace(/ : [^:]*$/, ''), pin: /[^ ]*$/.exec(text)![0] });
  const wires = printedRows(markdown, 'Connections').map(([number, from, to, place]): Wire => {
    const [, k, n] = /^(\d+) of (\d+)$/.exec(place!) ?? ['', '1', '1'];
    return { number: Number(number), from: terminal(from!), to: terminal(to!), place: Number(k), places: Number(n) };
  });
  return { units: [...inputs, ...control], wires };
}

describe('the printed sheet', () => {
  const initials = (rig: Rig) => {
    const initially = initialInputs(rig);
    const on = new Map(rig.network.nets.map((net, i) => [net.name, initially(i)] as const));
    return (name: string) => on.get(name)!;
  };

  function rebuildsFromPrint(rig: Rig, stimuli: readonly Stimulus[]): number {
    const names = rig.network.nets.map((n) => n.name);
    const ours = edgesByName(rig, initials(rig), stimuli, names);
    const wiring = printedWiring(pageMarkdown(sheetOf(analyseRig(rig))));
    const listed = new Map(wiring.units.map((u) => [u.name, u.initial ?? false] as const));
    expect(edgesByName(rebuilt(rig, wiring), (name) => listed.get(name) ?? false, stimuli, names)).toEqual(ours);
    // Each place of a signal is numbered, and the numbers agree with the lines there are.
    for (const { from, place, places } of wiring.wires) {
      const all = wiring.wires.filter((w) => w.from.unit === from.unit);
      expect(all).toHaveLength(places);
      expect(place).toBeLessThanOrEqual(places);
    }
    // Minimal: without any one line something has no input, or a door no drive.
    expect(new Set(wiring.wires.map((w) => `${w.from.unit} ${w.to.unit}:${w.to.pin}`)).size).toBe(wiring.wires.length);
    return ours.length;
  }

  it.each(sampleRigs().map((rig) => [rig.name, rig] as const))('of sample %s rebuilds the network', (_, rig) => {
    const stimuli = rig.sensors.map(({ net }, i) => ({ t: 100_000 + 20_000 * i, net, value: true }));
    expect(rebuildsFromPrint(rig, stimuli)).toBeGreaterThan(0);
  });

  it('of random networks rebuilds them, edge for edge', () => {
    let edges = 0;
    for (let seed = 1; seed <= Math.ceil(Number(process.env.SHEET_CASES ?? 200) / 4); seed++) {
      const { rig, stimuli } = randomCase(seed);
      edges += rebuildsFromPrint(rig, lasting(stimuli));
    }
    expect(edges).toBeGreaterThan(300);
  });
});

describe('a vent', () => {
  const VENTED = `rig trap "Pig trap" {
  medium air
  chamber header { volume 2 m3  pressure 3 bar }
  chamber pot    { volume 100 L }
  chamber hood   { volume 1 m3 }
  door inner { pocket 5 L  travel 250 ms }
  door outer { pocket 5 L  travel 400 ms }
  stack header > inner > pot > outer > hood
  controller { response 30 ms }
  switch purge = off { vents header, hood }
  switch cycle = off
  signal in_on  = TP(cycle, 900 ms)
  signal out_on = TP(F_TRIG(in_on), 900 ms)
  drive inner = in_on or purge
  drive outer = out_on or purge
}
`;

  it('stands in the sheet, with the time at which its doors are open', () => {
    const page = sheetOf(analyseRig(rigOf(VENTED)));
    const printed = pageMarkdown(page);
    expect(printed).toContain(
      'The switch purge is a vent: turned on, it is meant to open the whole path header to hood',
    );
    expect(printed).toMatch(/\| purge \| switch \| by hand; a vent: turned on/);
    // 30 ms for the drive's gate, 400 ms of travel for the slower door.
    expect(printed).toContain('See: inner and outer are all fully open at 430 ms');
  });

  it('that does not open its doors says so', () => {
    const printed = pageMarkdown(
      sheetOf(analyseRig(rigOf(VENTED.replace('drive outer = out_on or purge', 'drive outer = out_on')))),
    );
    expect(printed).toContain('inner and outer do not all open: mend this');
  });
});

it('a fault that shows before the trigger comes is named at rest, without a negative time', () => {
  const [rig] = sampleRigs().filter((r) => r.name === 'digester_bank');
  const facts = analyseRig(rig!);
  const printed = pageMarkdown(sheetOf(facts, { faults: faultReport(facts) }));
  expect(printed).toContain('at rest, before ready goes on');
  expect(printed).not.toMatch(/(?:at|-) ?-\d/);
});

describe('commissioning', () => {
  it.each(sampleRigs().map((rig) => [rig.name, rig] as const))(
    'of sample %s: every expected reading is in the trace',
    (_, rig) => {
      const facts = analyseRig(rig);
      const page = sheetOf(facts);
      const steps = page.blocks.flatMap((b) => (b.kind === 'steps' ? b.items.map((i) => i.todo) : []));
      const moments = facts.timing.strokes.flatMap((s) =>
        s.trace.doors.flatMap((track) => track.moves.flatMap((m) => [m.t, m.arrives])),
      );
      const told = steps.flatMap((step) => /^At ([\d.]+ (?:us|ms|s))/.exec(step)?.[1] ?? []);
      expect(told.length).toBeGreaterThan(0);
      const inTrace = new Set(moments.map((t) => seconds(t)));
      for (const time of told) expect(inTrace, time).toContain(timeOf(time));
    },
  );
});

const seconds = (us: number) => Math.round(us) / 1e6;
const timeOf = (text: string) => {
  const [number, unit] = text.split(' ');
  return Math.round(Number(number) * { us: 1, ms: 1e3, s: 1e6 }[unit as 'us' | 'ms' | 's']) / 1e6;
};

describe('pages', () => {
  const [rig] = sampleRigs();
  const page = sheetOf(
    analyseRig({ ...rig!, title: 'A [link](http://x) `tick` <img src=x>', doc: '<script>alert(1)</script>' }),
  );

  it('carry the caution and hold no markup from the text', () => {
    const html = pageHtml(page);
    expect(html).toContain('injure and kill');
    expect(html).not.toMatch(/<(?:img|script|a|iframe|link)[\s>]/);
    expect(html).toContain("default-src 'none'");
    const markdown = pageMarkdown(page);
    expect(markdown).toContain('injure and kill');
    expect(markdown).not.toMatch(/<img|(?<!\\)\[link|http:\/\//);
  });

  it('escape what Markdown would take as its own', () => {
    expect(escapeMarkdown('1. a|b *c* _d_ <e> `f` [g]')).toBe('1\\. a\\|b \\*c\\* \\_d\\_ &lt;e\\> \\`f\\` \\[g\\]');
  });
});
