/** `wire/loop-never-settles`: signals that change each other without delay, and never settle. */
import type { Problem } from '../../model/problem';
import type { Rig } from '../../model/rig';
import { formatTime } from '../../units/units';
import { sinceTrigger } from '../../timing/words';
import { type Check, found } from '../check';
import type { StrokeFacts } from '../../timing/facts';
import { say } from '../../words/say';

export const loopNeverSettles: Check = {
  code: 'wire/loop-never-settles',
  title: 'Loop that never settles',
  severity: 'error',
  explanation:
    'Elements with no response change each other round a loop without any time passing, and no value satisfies them all, as in `signal a = not a`. Nothing after that moment can be computed. Give one element of the loop a response or a timer, or use a latch (SR, RS) to hold a state.',
  run({ rig, facts: { timing } }) {
    if (timing.atRest.loop) return [problemOf(rig, timing.atRest.loop.nets, say`while the rig is at rest`)];
    for (const stroke of timing.strokes) {
      const { stopped } = stroke.trace;
      if (stopped?.reason !== 'loop') continue;
      return [problemOf(rig, stopped.nets, momentOf(stopped.t, stroke))];
    }
    return [];
  },
};

function momentOf(t: number, stroke: StrokeFacts): string {
  if (t > 0) return `${formatTime(t)} ${sinceTrigger(stroke)}`;
  const { trigger, becomes } = stroke;
  if (trigger.kind === 'power') return say`as soon as the first opening`;
  return becomes ? say`as soon as ${trigger.name} goes on` : say`as soon as ${trigger.name} goes off`;
}

function problemOf(rig: Rig, nets: readonly number[], when: string): Problem {
  const names = nets.map((net) => rig.network.nets[net]!.name);
  const places = nets.flatMap((net) => {
    const { kind, index } = rig.network.nets[net]!;
    return kind === 'element'
      ? [{ at: rig.network.elements[index]!.at, message: say`${rig.network.nets[net]!.name} is in the loop.` }]
      : [];
  });
  const circle = [...names, names[0]].join(' → ');
  return found(
    loopNeverSettles,
    places[0]?.at ?? rig.at,
    names.length === 1
      ? say`${names[0]!} depends on itself without delay and never settles, ${when}: ${circle}.`
      : say`These signals depend on each other without delay and never settle, ${when}: ${circle}.`,
    { nets },
    { related: places.slice(1) },
  );
}
