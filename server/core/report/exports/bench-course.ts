/** The course of a trace as a test bench follows it: what its inputs do, counted from the moment at which the rig is at rest. */
import type { Rig } from '../../model/rig';
import { compileProgram } from '../../timing/program';
import { restMoment } from '../../timing/rest';
import type { Trace } from '../../timing/trace';
import type { BenchCourse } from './verilog-bench';

/** `trace` begins at the rig's rest, or at its power-up where it does not come to rest, and is followed up to and including `until`. */
export function benchCourse(rig: Rig, trace: Trace, until: number, words: string): BenchCourse {
  const initial = (net: number): boolean => trace.initial[net] ?? false;
  const isInput = (net: number): boolean => rig.network.nets[net]?.kind !== 'element';
  return {
    words,
    start: restMoment(rig, initial, compileProgram(rig)) ?? 0,
    initial,
    steps: trace.edges.filter((edge) => isInput(edge.net)).map(({ t, net, value }) => ({ t, net, value })),
    until,
  };
}
