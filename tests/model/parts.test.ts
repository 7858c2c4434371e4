import { describe, expect, it } from 'vitest';
import { networkLines } from '../support/network-lines';
import { problemLines } from '../support/problem-lines';
import { rigFrom } from '../support/rig';

const GATE = `part gate(go, delay, above, below) {
  let soft = delay / 2
  door leaf { travel soft  pocket 3 L }
  signal held = TOF(go, delay)
  drive leaf = held
  stack above > leaf > below
}
`;
const RIG = (body: string): string =>
  `${GATE}rig r {\nswitch a = on\nchamber top { volume 1 m3 }\nchamber end { volume 1 m3 }\n${body}\n}`;

describe('placed parts', () => {
  it('put their items into the rig under the name of the place', () => {
    const { rig } = rigFrom(RIG('place west = gate(a, 2 s, top, end)\nplace east = gate(west.held, 4 s, end, top)'));
    expect(rig.doors.map((d) => [d.name, d.opensIn.nominal])).toEqual([
      ['west.leaf', 1_000_000],
      ['east.leaf', 2_000_000],
    ]);
    expect(networkLines(rig)).toEqual([
      'west.held = TOF(a, 2 s)',
      'east.held = TOF(west.held, 4 s)',
      'drive west.leaf = west.held',
      'drive east.leaf = east.held',
    ]);
    expect(rig.stacks.map((s) => s.members.map((m) => `${m.kind}${m.index}`))).toEqual([
      ['chamber0', 'door0', 'chamber1'],
      ['chamber1', 'door1', 'chamber0'],
    ]);
  });

  it('stand in the order of the text', () => {
    const { rig } = rigFrom(
      RIG('door first { travel 1 s }\nplace west = gate(a, 2 s, top, end)\ndoor last { travel 1 s }'),
    );
    expect(rig.doors.map((d) => d.name)).toEqual(['first', 'west.leaf', 'last']);
  });

  it('may hold other parts', () => {
    const pair = 'part pair(go, x, y) {\nplace one = gate(go, 1 s, x, y)\nplace two = gate(one.held, 1 s, x, y)\n}\n';
    const { rig } = rigFrom(
      pair + RIG('place p = pair(a, top, end)\ndrive_check = on'.replace('\ndrive_check = on', '')),
    );
    expect(rig.doors.map((d) => d.name)).toEqual(['p.one.leaf', 'p.two.leaf']);
    expect(networkLines(rig)[1]).toBe('p.two.held = TOF(p.one.held, 1 s)');
  });

  it('keep values at the argument of the place, where a change concerns that place alone', () => {
    const text = RIG('place west = gate(a, 2 s, top, end)');
    const { rig } = rigFrom(text);
    const { at } = rig.network.elements[0]!.preset!;
    expect(text.slice(at.start, at.end)).toBe('2 s');
    expect(text.slice(0, at.start)).toMatch(/gate\(a, $/);
  });

  it('name requirements after the place', () => {
    const part = 'part p(d) {\nrequire window(d) >= 1 s\n}\n';
    const { rig } = rigFrom(`${part}rig r {\ndoor x { travel 1 s }\nplace q = p(x)\n}`);
    expect(rig.requirements[0]).toMatchObject({
      text: 'window(d) >= 1 s (q)',
      args: [{ kind: 'item', of: 'door', index: 0, name: 'x' }],
    });
  });

  it('may stand inside a rig and see its names', () => {
    const text = 'rig r {\nswitch a = on\nplace q = p()\npart p() {\nsignal x = a\n}\nsignal y = q.x\n}';
    expect(networkLines(rigFrom(text).rig)).toEqual(['q.x = LOGIC(a)', 'y = LOGIC(q.x)']);
  });

  it('tell a mistake in their text once, though placed twice', () =>
    expect(
      problemLines('part p() {\ndoor d { travel 1 bar }\n}\nrig r {\nplace a = p()\nplace b = p()\n}'),
    ).toHaveLength(1));

  it('tell a mistake in their text though placed nowhere, inside a rig as outside', () => {
    const part = 'part p() {\ndoor d { travel 1 bar }\n}\n';
    const outside = problemLines(`${part}rig r {\nswitch s = on\n}`);
    expect(outside).toEqual([expect.stringMatching(/^unit\/dimension /)]);
    expect(problemLines(`rig r {\nswitch s = on\n${part}}`)).toEqual(outside);
  });

  it('tell a wrong argument at the place, with the use', () => {
    expect(problemLines(RIG('place west = gate(top, 2 s, top, end)\nplace east = gate(a, 2 s, a, end)'))).toEqual([
      'name/wrong-kind "top": top is a chamber; a switch, a sensor or a signal is needed here.',
      'name/wrong-kind "a": a is a switch; a chamber or a door is needed here.',
    ]);
  });

  it('stop where placing grows without bound', () => {
    const doubling = Array.from(
      { length: 30 },
      (_, i) => `part p${i}() {\nplace a = p${i + 1}()\nplace b = p${i + 1}()\n}`,
    ).join('\n');
    const text = `${doubling}\npart p30() {\nswitch s = on\n}\nrig r {\nplace z = p0()\n}`;
    expect(problemLines(text)).toEqual([expect.stringMatching(/^value\/too-large /)]);
  });
});
