/** Sentences about figures that the law of the medium carries only roughly: wherever a chamber or a pocket gets to, not only where one begins. */
import type { ChamberState, Filling, StrokeFlow } from '../flow/facts';
import type { FlowModel } from '../flow/rig-model';
import { doubtAt, stateAt } from '../flow/states';
import { massAt } from '../flow/vessel';
import type { Rig } from '../model/rig';
import { formatSi } from '../units/units';
import { prepare, type Work } from '../work/work';
import { say } from '../words/say';

/** @param run the rig followed by itself */
export function* doubtsOf(
  rig: Rig,
  model: FlowModel,
  strokes: readonly StrokeFlow[],
  run: Filling | null,
): Work<string[]> {
  const doubts = new Set<string>();
  for (const stroke of strokes) {
    for (const stack of stroke.stacks) {
      yield* prepare(stack, 'ceiling');
      const { to, ceiling, ceilingNote } = stack;
      if (ceiling && ceilingNote) doubts.add(say`The ceiling of ${rig.chambers[to]!.name} is ${ceilingNote}.`);
    }
    pocketDoubts(rig, model, stroke).forEach((doubt) => doubts.add(doubt));
  }
  rig.chambers.forEach(({ limit, name }, k) => {
    const vessel = model.vessels[k]!;
    const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
    const doubt = most === null ? null : doubtAt(model, k, stateAt(model, k, most));
    if (doubt) doubts.add(say`At the limit of ${name} ${doubt}.`);
  });
  if (run) reachedDoubts(rig, model, run.highest, say`in the followed run`).forEach((doubt) => doubts.add(doubt));
  const pockets = strokes.flatMap(({ loads }) => Array.from(loads.peak));
  const ends = strokes.flatMap(({ stacks }) => stacks.map(({ ceiling }) => ceiling?.pressure ?? 0));
  return [...doubts, ...unknownDoubts(model, [...pockets, ...ends, ...highestOf(rig, run?.highest ?? [])])];
}

const highestOf = (rig: Rig, highest: readonly ChamberState[]): number[] =>
  highest.map(({ pressure }, k) => (rig.chambers[k]!.endless ? 0 : (pressure ?? 0)));

/** Of a gas of the user's own without critical constants, where it gets to high pressures, Pa: how far the law is off there is not known. */
function unknownDoubts({ law }: FlowModel, pressures: readonly number[]): string[] {
  if (law.phase !== 'gas' || law.unknownAbove === undefined) return [];
  const highest = pressures.filter(Number.isFinite).reduce((most, p) => Math.max(most, p), 0);
  if (highest <= law.unknownAbove) return [];
  const [from, to] = [law.unknownAbove, highest].map((p) => formatSi(p, 'pressure'));
  return [
    say`Above ${from!} (it gets to ${to!}) nobody can tell how far the ideal gas law is off for ${law.name}: state critical_temperature, critical_pressure and acentric_factor, or \`law real\` with them.`,
  ];
}

/** Of a scenario by the highest states of its chambers. */
export const scenarioDoubts = (rig: Rig, model: FlowModel, highest: readonly ChamberState[]): string[] => [
  ...reachedDoubts(rig, model, highest, 'in the scenario'),
  ...unknownDoubts(model, highestOf(rig, highest)),
];

/** Of the highest states of the chambers in a run. @param when `in the followed run` */
const reachedDoubts = (rig: Rig, model: FlowModel, highest: readonly ChamberState[], when: string): string[] =>
  highest.flatMap((state, k) => {
    const { name, endless } = rig.chambers[k]!;
    const doubt = endless ? null : doubtAt(model, k, state);
    if (doubt === null || state.pressure === null) return [];
    return [say`Up to ${formatSi(state.pressure, 'pressure')} in ${name} ${when}: ${doubt}.`];
  });

/** Of what the pockets come to while their doors close. */
function pocketDoubts(rig: Rig, { law, network }: FlowModel, { loads, hottest }: StrokeFlow): string[] {
  if (law.phase !== 'gas') return [];
  return rig.doors.flatMap(({ name }, door) => {
    const [pressure, T] = [loads.peak[door]!, hottest[network.chambers + door]!];
    if (!(pressure > 0 && T > 0) || pressure > law.range.pressure) return [];
    const doubt = law.doubt(law.density(pressure, T), T);
    return doubt ? [say`Up to ${formatSi(pressure, 'pressure')} in the pocket of ${name}: ${doubt}.`] : [];
  });
}
