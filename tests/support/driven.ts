/** What an exported controller is compared in: every element's net as an output, and the engine's changes of them. */
import type { Rig } from '../../server/core/model/rig';
import { createEngine } from '../../server/core/timing/engine';
import { NOWHERE } from './network';
import type { Stimulus } from './random';

/** The rig with each element's net driving a feed `e0`, `e1` …, in place of its own drives. */
export function everyNetDriven(rig: Rig): Rig {
  const lines = rig.network.elements.map((_, i) => ({
    name: `e${i}`,
    at: NOWHERE,
    whole: NOWHERE,
    doc: '',
    kind: 'feed' as const,
    chamber: -1,
    rate: null,
    lineLimit: null,
    pumpLimit: null,
    power: null,
    only: null,
  }));
  const drives = rig.network.elements.map((e, i) => ({ kind: 'feed' as const, target: i, net: e.net, at: NOWHERE }));
  return { ...rig, lines, drives } as unknown as Rig;
}

/** Changes `t eN 0|1` of every element's net as they last beyond their instant; and whether a loop stopped the run. */
export function engineChanges(rig: Rig, stimuli: readonly Stimulus[], until: number): string[] {
  const engine = createEngine(rig);
  for (const s of stimuli) engine.setInput(s.net, s.value, s.t);
  engine.advanceTo(until);
  const { edges, stopped } = engine.trace();
  const elementOf = new Map(rig.network.elements.map((e, i) => [e.net, i] as const));
  const shown = new Uint8Array(rig.network.elements.length);
  const lines: string[] = [];
  let at = 0;
  const now = shown.slice();
  const flush = () => {
    now.forEach((value, i) => {
      if (value !== shown[i]) lines.push(`${at} e${i} ${value}`);
      shown[i] = value;
    });
  };
  for (const edge of edges) {
    if (edge.t !== at) flush();
    at = edge.t;
    const element = elementOf.get(edge.net);
    if (element !== undefined) now[element] = edge.value ? 1 : 0;
  }
  flush();
  return stopped?.reason === 'loop' ? [...lines.filter((l) => Number(l.split(' ')[0]) < stopped.t), 'fault'] : lines;
}

/** The same stimuli as lines for the exported program. */
export function scriptOf(rig: Rig, stimuli: readonly Stimulus[], until: number): string {
  const sorted = stimuli.filter((s) => s.t <= until).sort((a, b) => a.t - b.t);
  return [
    ...sorted.map((s) => `${s.t} ${rig.network.nets[s.net]!.name} ${s.value ? 1 : 0}`),
    `${until} end 0`,
    '',
  ].join('\n');
}

/** Stimuli without changes that take no time: of several of one input at one moment the last counts, as a controller sees it. */
export function lasting(stimuli: readonly Stimulus[]): Stimulus[] {
  return stimuli.filter((s, i) => !stimuli.some((later, j) => j > i && later.t === s.t && later.net === s.net));
}
