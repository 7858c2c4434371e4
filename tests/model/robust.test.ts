/** Broken texts and trees: a partial model, never a throw. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import type { Rig } from '../../server/core/model/rig';
import { resolveText } from '../support/rig';

const SAMPLES = join(__dirname, '../../samples');
const samples = readdirSync(SAMPLES).filter((name) => name.endsWith('.rig'));

/** Everything that points somewhere in a rig points at something. */
function expectSound(rig: Rig): void {
  const { nets, elements } = rig.network;
  for (const list of [rig.chambers, rig.doors, rig.lines, rig.switches, rig.sensors, rig.signals, rig.scenarios]) {
    for (const item of list) expect(item).toBeDefined();
    expect(Object.keys(list)).toHaveLength(list.length);
  }
  nets.forEach((net, i) => {
    const list = { switch: rig.switches, sensor: rig.sensors, element: elements }[net.kind];
    expect(list[net.index]?.net, net.name).toBe(i);
  });
  for (const element of elements) expect(nets[element.net]).toBeDefined();
  for (const drive of rig.drives) {
    expect((drive.kind === 'door' ? rig.doors : rig.lines)[drive.target]).toBeDefined();
    expect(nets[drive.net]).toBeDefined();
  }
  for (const member of rig.stacks.flatMap((stack) => stack.members)) {
    expect((member.kind === 'door' ? rig.doors : rig.chambers)[member.index]).toBeDefined();
  }
}

function expectResolves(text: string): void {
  const { resolution } = resolveText(text);
  for (const rig of resolution.rigs) expectSound(rig);
  for (const { at, message } of resolution.problems) {
    expect(at.start).toBeLessThanOrEqual(at.end);
    expect(at.end).toBeLessThanOrEqual(text.length);
    expect(message).not.toMatch(/undefined|NaN|\[object/);
  }
}

describe('half-written texts', () => {
  it.each(samples)('%s, cut at tokens and with tokens left out', (name) => {
    const text = readFileSync(join(SAMPLES, name), 'utf8');
    const { tokens } = parse(text);
    tokens.forEach(({ span }, i) => {
      if (i % 3 === 0) expectResolves(text.slice(0, span.end));
      if (i % 7 === 0) expectResolves(text.slice(0, span.start) + text.slice(span.end));
    });
  });

  it('words of the language in any order', () => {
    const words = readFileSync(join(SAMPLES, samples[0]!), 'utf8').split(/(\s+|[{}(),=<>])/);
    const extra = [
      'part p(x) {',
      'place q = p(',
      'import "x.rig"',
      'let a = a + ',
      '+-',
      '..',
      '1 s',
      '%',
      'sequence s on a {',
      'at 1 s open d',
      'repeat after 1 s',
      'scenario m {',
      'place p = p()',
      '\n',
      '}',
    ];
    const text = fc.array(fc.constantFrom(...words, ...extra), { maxLength: 60 }).map((list) => list.join(' '));
    fc.assert(
      fc.property(text, (body) => {
        expectResolves(body);
        expectResolves(`rig r {\n${body}\n}`);
      }),
      { numRuns: 600, seed: 20 },
    );
  });
});
