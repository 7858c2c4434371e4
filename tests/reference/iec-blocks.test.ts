/**
 * The standard blocks against vectors of IEC 61131-3:2013 (Ed. 3), clause 6.6.3.5: Table 43 (bistables), Table 44 (edge detection),
 * Table 46 and Figure 15 (timers). State machines and timing diagrams as read in a published reference text headed "based on the FINAL
 * DRAFT – IEC 61131-3, 2nd Ed. (2001-12-10)"; the vectors were worked out from them by an event-driven closed form and by a 1 ms scan
 * state machine, which agree at every millisecond. Times in ms; the value at t is the one just after all edges at t. Every vector is run
 * in response style with zero response, in response style with 7 ms (everything 7 ms later), and in scan style with 1 ms scans.
 */
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { createEngine } from '../../server/core/timing/engine';
import { CTU, F_TRIG, MS, R_TRIG, RS, SR, TOF, TON, TP, netOf, sketch } from '../support/network';
import type { Term } from '../support/network';

type Edge = readonly [number, 0 | 1];
interface Vector {
  readonly id: string;
  readonly pt: number;
  readonly input: readonly Edge[];
  /** t → Q */
  readonly rows: readonly Edge[];
  readonly q: readonly Edge[];
}

const edges = (text: string): Edge[] =>
  text === '' ? [] : text.split(', ').map((pair) => pair.split(':').map(Number) as unknown as Edge);
const vector = (id: string, pt: number, input: string, rows: string, q: string): Vector => ({
  id,
  pt,
  input: edges(input),
  rows: edges(rows),
  q: edges(q),
});

const VECTORS: readonly Vector[] = [
  vector('TON-1', 100, '10:1, 60:0', '0:0, 10:0, 59:0, 60:0, 200:0', ''),
  vector('TON-2', 100, '10:1, 200:0', '9:0, 10:0, 60:0, 109:0, 110:1, 150:1, 199:1, 200:0, 250:0', '110:1, 200:0'),
  vector(
    'TON-3',
    100,
    '10:1, 60:0, 70:1, 200:0',
    '59:0, 60:0, 69:0, 70:0, 120:0, 169:0, 170:1, 199:1, 200:0',
    '170:1, 200:0',
  ),
  vector('TON-5', 100, '0:1', '0:0, 50:0, 99:0, 100:1, 150:1', '100:1'),
  vector(
    'TON-6',
    250,
    '5:1, 255:0, 300:1, 600:0',
    '254:0, 255:0, 256:0, 300:0, 549:0, 550:1, 599:1, 600:0',
    '550:1, 600:0',
  ),
  vector(
    'TON-7',
    40,
    '0:1, 39:0, 40:1, 79:0, 80:1, 200:0',
    '38:0, 39:0, 40:0, 78:0, 79:0, 80:0, 119:0, 120:1, 200:0',
    '120:1, 200:0',
  ),
  vector('TOF-1', 100, '10:1, 60:0', '9:0, 10:1, 59:1, 60:1, 61:1, 110:1, 159:1, 160:0, 300:0', '10:1, 160:0'),
  vector(
    'TOF-2',
    100,
    '10:1, 60:0, 120:1, 150:0',
    '60:1, 119:1, 120:1, 149:1, 150:1, 200:1, 249:1, 250:0, 300:0',
    '10:1, 250:0',
  ),
  vector('TOF-4', 100, '', '0:0, 50:0, 500:0', ''),
  vector(
    'TOF-5',
    100,
    '10:1, 20:0, 50:1, 60:0, 90:1, 100:0',
    '19:1, 20:1, 49:1, 50:1, 60:1, 89:1, 90:1, 100:1, 199:1, 200:0, 260:0',
    '10:1, 200:0',
  ),
  vector(
    'TOF-6',
    100,
    '10:1, 60:0, 300:1, 310:0',
    '159:1, 160:0, 299:0, 300:1, 310:1, 409:1, 410:0',
    '10:1, 160:0, 300:1, 410:0',
  ),
  vector('TOF-7', 25, '100:1, 101:0', '99:0, 100:1, 101:1, 125:1, 126:0, 200:0', '100:1, 126:0'),
  vector('TP-1', 100, '10:1, 60:0', '9:0, 10:1, 60:1, 109:1, 110:0, 111:0, 200:0', '10:1, 110:0'),
  vector('TP-2', 100, '10:1, 200:0', '10:1, 60:1, 109:1, 110:0, 150:0, 199:0, 200:0, 250:0', '10:1, 110:0'),
  vector(
    'TP-3',
    100,
    '10:1, 30:0, 50:1, 70:0, 90:1, 95:0',
    '10:1, 30:1, 50:1, 90:1, 109:1, 110:0, 200:0',
    '10:1, 110:0',
  ),
  vector('TP-4', 100, '10:1, 30:0, 80:1, 150:0', '79:1, 80:1, 109:1, 110:0, 149:0, 150:0, 260:0', '10:1, 110:0'),
  vector(
    'TP-5',
    100,
    '10:1, 30:0, 120:1, 130:0',
    '109:1, 110:0, 119:0, 120:1, 130:1, 219:1, 220:0, 300:0',
    '10:1, 110:0, 120:1, 220:0',
  ),
];

/** Input edge exactly at expiry: the standard leaves it open; the published state machine sees the new input first, and so do we. */
const AT_EXPIRY: readonly Vector[] = [
  vector('TON-4', 100, '10:1, 110:0', '10:0, 109:0, 110:0, 111:0, 150:0', ''),
  vector('TOF-3', 100, '10:1, 60:0, 160:1, 170:0', '159:1, 160:1, 169:1, 170:1, 269:1, 270:0', '10:1, 270:0'),
  vector('TP-6', 100, '10:1, 110:0', '109:1, 110:0, 111:0, 200:0', '10:1, 110:0'),
  vector(
    'TP-7',
    100,
    '10:1, 30:0, 110:1, 150:0, 160:1, 170:0',
    '109:1, 110:0, 149:0, 150:0, 160:1, 259:1, 260:0',
    '10:1, 110:0, 160:1, 260:0',
  ),
];

/** Edges of net `q` in ms up to `until`, and its value at any time. */
function run(rig: Rig, inputs: Readonly<Record<string, readonly Edge[]>>, until: number) {
  const engine = createEngine(rig);
  for (const [name, list] of Object.entries(inputs))
    for (const [t, value] of list) engine.setInput(netOf(rig, name), value === 1, t * MS);
  engine.advanceTo(until * MS);
  const q = netOf(rig, 'q');
  const found = engine.trace().edges.filter((e) => e.net === q);
  return {
    edges: found.map((e) => [e.t / MS, e.value ? 1 : 0]),
    at: (t: number) => found.filter((e) => e.t <= t * MS).at(-1)?.value ?? false,
  };
}

const TIMERS = { TON, TOF, TP } as const;
const STYLES = [
  { style: 'zero response', times: { response: 0 }, later: 0 },
  { style: 'response 7 ms', times: { response: 7 * MS }, later: 7 },
  { style: 'scan 1 ms', times: { scan: MS }, later: 0 },
] as const;

for (const { style, times, later } of STYLES) {
  describe(`timers, ${style}`, () => {
    it.each([...VECTORS, ...AT_EXPIRY].map((v) => [v.id, v] as const))('%s', (id, v) => {
      const timer = TIMERS[id.split('-')[0] as keyof typeof TIMERS];
      const rig = sketch({ ...times, switches: { in: false }, signals: { q: timer('in', v.pt * MS) } });
      const result = run(rig, { in: v.input }, 1000);
      expect(result.edges).toEqual(v.q.map(([t, value]) => [t + later, value]));
      for (const [t, value] of v.rows) expect(result.at(t + later), `at ${t}`).toBe(value === 1);
    });
  });
}

describe('timers in cascade', () => {
  const cases: readonly [string, Term, string, string][] = [
    ['TON(30) → TOF(50)', TOF(TON('in', 30 * MS), 50 * MS), '10:1, 100:0', '40:1, 150:0'],
    ['TON(100) → TP(40)', TP(TON('in', 100 * MS), 40 * MS), '0:1, 300:0', '100:1, 140:0'],
    ['TP(60) → TOF(25)', TOF(TP('in', 60 * MS), 25 * MS), '5:1, 15:0', '5:1, 90:0'],
    ['TOF(50) → TON(120)', TON(TOF('in', 50 * MS), 120 * MS), '0:1, 20:0', ''],
  ];
  it.each(cases)('%s', (_, term, input, q) => {
    for (const times of [{ response: 0 }, { scan: MS }]) {
      const rig = sketch({ ...times, switches: { in: false }, signals: { q: term } });
      expect(run(rig, { in: edges(input) }, 1000).edges).toEqual(edges(q));
    }
  });
});

describe('PT = 0, event-driven: the standard is silent', () => {
  const input = edges('20:1, 50:0');
  it('TON and TOF: Q = IN; TP: no pulse', () => {
    for (const times of [{ response: 0 }, { scan: 10 * MS }]) {
      const q = (term: Term) =>
        run(sketch({ ...times, switches: { in: false }, signals: { q: term } }), { in: input }, 200).edges;
      expect(q(TON('in', 0))).toEqual(input);
      expect(q(TOF('in', 0))).toEqual(input);
      expect(q(TP('in', 0))).toEqual([]);
    }
  });
});

/** Runs one evaluation per 10 ms scan and gives Q after each. */
function scans(term: Term, inputs: Readonly<Record<string, string>>): string {
  const names = Object.keys(inputs);
  const length = inputs[names[0]].length;
  const first = (name: string) => inputs[name][0] === '1';
  const rig = sketch({
    scan: 10 * MS,
    switches: Object.fromEntries(names.map((n) => [n, first(n)])),
    signals: { q: term },
  });
  const edgesOf = (name: string): Edge[] => [...inputs[name]].map((c, i) => [i * 10, c === '1' ? 1 : 0] as const);
  const result = run(rig, Object.fromEntries(names.map((n) => [n, edgesOf(n)])), length * 10);
  return Array.from({ length }, (_, i) => (result.at(i * 10) ? '1' : '0')).join('');
}

describe('edge detection (Table 44)', () => {
  it('R_TRIG: one scan at each rise, and at a first call with CLK on', () => {
    expect(scans(R_TRIG('clk'), { clk: '01101001' })).toBe('01001001');
    expect(scans(R_TRIG('clk'), { clk: '11001' })).toBe('10001');
  });
  it('F_TRIG: one scan at each fall, and at a first call with CLK off', () => {
    expect(scans(F_TRIG('clk'), { clk: '01101001' })).toBe('10010100');
    expect(scans(F_TRIG('clk'), { clk: '11001' })).toBe('00100');
  });
});

describe('bistables (Table 43)', () => {
  const inputs = { s: '01000100', r: '00010101' };
  it('SR is set dominant', () => expect(scans(SR('s', 'r'), inputs)).toBe('01100110'));
  it('RS is reset dominant', () => expect(scans(RS('s', 'r'), inputs)).toBe('01100000'));
});

describe('CTU (Table 45; body from memory: IF R THEN CV := 0; ELSIF CU rises AND CV < PVmax THEN CV := CV + 1; Q := CV >= PV)', () => {
  it('counts rises up to PV, reset wins, reset while CU is on loses that rise', () => {
    // Rises at scans 1, 3, 5: Q from the third on; reset at 7; the rise at 8 comes while R is on; rises at 10, 12, 14.
    expect(scans(CTU('cu', 'r', 3), { cu: '010101001010101', r: '000000011000000' })).toBe('000001100000001');
  });
  it('PV = 0 is reached at once', () => expect(scans(CTU('cu', 'r', 0), { cu: '000', r: '000' })).toBe('111'));
});
