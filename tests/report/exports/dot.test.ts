/** Exported wiring as DOT, read by `dot` itself: every node and edge of the wiring is there, with its name. */
import { spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { wiringModel } from '../../../server/core/diagram/wiring/model';
import type { Rig } from '../../../server/core/model/rig';
import { exportDot } from '../../../server/core/report/exports/dot';
import { and, not, sketch } from '../../support/network';
import { randomRig } from '../../support/random';
import { sampleRigs } from '../../support/samples';

interface Drawn {
  readonly name: string;
  readonly objects?: readonly { readonly name: string; readonly label: string }[];
  readonly edges?: readonly { readonly arrowhead?: string }[];
}

function drawn(rig: Rig): Drawn {
  const ran = spawnSync('dot', ['-Tdot_json'], { input: exportDot(rig, wiringModel(rig)), encoding: 'utf8' });
  if (ran.status !== 0 || ran.stderr !== '') throw new Error(`dot: ${ran.stderr}`);
  return JSON.parse(ran.stdout) as Drawn;
}

function compare(rig: Rig): void {
  const model = wiringModel(rig);
  const graph = drawn(rig);
  expect(graph.objects?.map((o) => o.name).sort() ?? []).toEqual(model.nodes.map((n) => n.id).sort());
  expect(graph.edges?.length ?? 0).toBe(model.edges.length);
  expect(graph.edges?.filter((e) => e.arrowhead === 'odot').length ?? 0).toBe(
    model.edges.filter((e) => e.inverted).length,
  );
}

describe.skipIf(spawnSync('dot', ['-V']).error !== undefined)('exported DOT', () => {
  it.each(sampleRigs().map((rig) => [rig.name, rig] as const))('of sample %s is read by dot', (_, rig) => {
    compare(rig);
    expect(exportDot(rig, wiringModel(rig))).toContain('injure and kill');
  });

  it('of 10 random rigs is read by dot', () => {
    for (let seed = 1; seed <= 10; seed++) compare(randomRig(seed));
  });

  it('keeps names and titles that are words or marks of DOT', () => {
    const rig = sketch({
      name: 'digraph',
      switches: { node: true, edge: false, Öffner: false },
      signals: { graph: and('node', not('edge'), 'Öffner') },
      doors: { strict: {} },
      drives: { strict: 'graph' },
      stacks: [['strict']],
    });
    const titled = { ...rig, title: 'a "quoted" \\N title \\" ] } // end' };
    compare(titled);
    expect(drawn(titled).objects!.some((o) => o.label.startsWith('Öffner'))).toBe(true);
  });
});
