import { describe, expect, it } from 'vitest';
import { networkLines } from '../support/network-lines';
import { rigFrom } from '../support/rig';

const FRAME = 'switch a = on\nswitch b = off\nswitch c = off\ndoor d { travel 1 s }\n';

/** Lines of the network of a rig with switches a, b, c and a door d. */
function lines(body: string, controller = ''): string[] {
  return networkLines(rigFrom(`rig r {\n${FRAME}${controller}\n${body}\n}`).rig);
}

describe('elements of signals', () => {
  it.each<[string, string[]]>([
    ['signal x = a', ['x = LOGIC(a)']],
    ['signal x = on', ['x = LOGIC(on)']],
    // NOT, AND, XOR, OR as in IEC 61131-3
    ['signal x = a or b xor not c and a', ['x = LOGIC(a or (b xor (not c and a)))']],
    ['signal x = TOF(a and b, 2 s)', ['x = TOF(a and b, 2 s)']],
    ['signal x = TOF(TON(a, 2 s), 1 s)', ['x/TON = TON(a, 2 s)', 'x = TOF(x/TON, 1 s)']],
    ['signal x = a or TON(b, 1 s)', ['x/TON = TON(b, 1 s)', 'x = LOGIC(a or x/TON)']],
    [
      'signal x = TON(a, 1 s) and TON(b, 2 s) and TP(c, 3 s)',
      ['x/TON = TON(a, 1 s)', 'x/TON#2 = TON(b, 2 s)', 'x/TP = TP(c, 3 s)', 'x = LOGIC(x/TON and x/TON#2 and x/TP)'],
    ],
    [
      'signal x = TON(TON(TON(a, 1 s), 2 s), 3 s)',
      ['x/TON = TON(a, 1 s)', 'x/TON#2 = TON(x/TON, 2 s)', 'x = TON(x/TON#2, 3 s)'],
    ],
    ['signal x = SR(a, b)', ['x = SR(a, b)']],
    [
      'signal x = RS(R_TRIG(a), F_TRIG(b))',
      ['x/R_TRIG = R_TRIG(a)', 'x/F_TRIG = F_TRIG(b)', 'x = RS(x/R_TRIG, x/F_TRIG)'],
    ],
    ['signal x = CTU(a, b, 3)', ['x = CTU(a, b, 3)']],
    ['signal x = TOF(x and not y, 1 s)\nsignal y = x', ['x = TOF(x and not y, 1 s)', 'y = LOGIC(x)']],
  ])('%s', (body, expected) => expect(lines(body)).toEqual(expected));
});

describe('responses', () => {
  it('belong to every element; `responds` sets that of the outermost one', () =>
    expect(
      lines('signal x = a and TON(b, 1 s) responds 5 ms\nsignal y = x', 'controller { response 20 ms +- 5 ms }'),
    ).toEqual([
      'x/TON = TON(b, 1 s) responds 20 ms (15 ms to 25 ms)',
      'x = LOGIC(a and x/TON) responds 5 ms',
      'y = LOGIC(x) responds 20 ms (15 ms to 25 ms)',
    ]));

  it('are zero without a controller', () => {
    const { rig } = rigFrom('rig r {\nswitch a = on\n}');
    expect(rig.controller).toMatchObject({ style: 'response', time: { nominal: 0 }, at: null });
  });

  it('are zero in a scanned controller, which keeps its period', () => {
    const { rig } = rigFrom(`rig r {\n${FRAME}controller { scan 10 ms +- 10 % }\nsignal x = a\n}`);
    expect(rig.controller).toMatchObject({ style: 'scan', time: { nominal: 10_000, min: 9_000, max: 11_000 } });
    expect(rig.network.elements[0]!.response.nominal).toBe(0);
  });
});

describe('tolerances of presets', () => {
  it.each([
    // absolute: 1 s +- 10 ms
    ['TON(a, 1 s +- 10 ms)', '', 'x = TON(a, 1 s (990 ms to 1.01 s))'],
    // relative: 2 s +- 5 % = 100 ms
    ['TON(a, 2 s +- 5 %)', '', 'x = TON(a, 2 s (1.9 s to 2.1 s))'],
    // both, worst case: (1 s - 10 ms) x 0.98 = 970.2 ms, (1 s + 10 ms) x 1.02 = 1030.2 ms
    ['TON(a, 1 s +- 10 ms)', 'controller { timer_accuracy 2 % }', 'x = TON(a, 1 s (970.2 ms to 1.0302 s))'],
    // 3 us x 0.9 = 2.7 us and x 1.1 = 3.3 us: whole microseconds, outward
    ['TON(a, 3 us)', 'controller { timer_accuracy 10 % }', 'x = TON(a, 3 us (2 us to 4 us))'],
  ])('%s %s', (call, controller, expected) => expect(lines(`signal x = ${call}`, controller)).toEqual([expected]));
});

describe('drives', () => {
  it.each<[string, string[]]>([
    ['drive d = a', ['drive d = a']],
    ['drive d = a and not b', ['drive d = LOGIC(a and not b) responds 10 ms', 'drive d = drive d']],
    ['drive d = TON(a, 1 s)', ['drive d = TON(a, 1 s) responds 10 ms', 'drive d = drive d']],
    [
      'drive d = b or TON(a, 1 s)',
      [
        'drive d/TON = TON(a, 1 s) responds 10 ms',
        'drive d = LOGIC(b or drive d/TON) responds 10 ms',
        'drive d = drive d',
      ],
    ],
    ['drive d = off', ['drive d = LOGIC(off) responds 10 ms', 'drive d = drive d']],
  ])('%s', (body, expected) => expect(lines(body, 'controller { response 10 ms }')).toEqual(expected));

  it('reach feeds and draws', () => {
    const { rig } = rigFrom(
      'rig r {\nchamber c { volume 1 L }\nswitch a = on\nfeed f into c\ndraw g from c\ndrive g = a\ndrive f = a\n}',
    );
    expect(rig.drives.map((d) => [d.kind, rig.lines[d.target]!.name])).toEqual([
      ['draw', 'g'],
      ['feed', 'f'],
    ]);
  });
});

describe('nets', () => {
  it('point back at what gives them', () => {
    const { rig } = rigFrom(
      'rig r {\nsignal x = TON(s and a, 1 s)\nswitch a = on\nchamber c { volume 1 L }\nsensor s on c { pressure above 2 bar }\nsignal y = x or TP(a, 1 s)\n}',
    );
    rig.network.nets.forEach((net, i) => {
      const list = { switch: rig.switches, sensor: rig.sensors, element: rig.network.elements }[net.kind];
      expect(list[net.index]!.net).toBe(i);
      expect(list[net.index]!.name).toBe(net.name);
    });
    for (const signal of rig.signals) {
      expect(rig.network.elements[signal.elements[signal.elements.length - 1]!]!.net).toBe(signal.net);
    }
  });
});
