/** Why no size within reach fills a chamber in time: what stands in the way, with its numbers. */
import type { RigFacts } from '../../run/facts';
import { massAt } from '../../flow/vessel';
import { flowRun } from '../../run/flow-run';
import { patiently, type Work } from '../../work/work';
import type { DimensionName } from '../../units/dimensions';
import { formatCount, formatSi, formatTime } from '../../units/units';
import { rigWithChoice } from './choice';
import { LARGEST, withPocket, type Sizing } from './least-pocket';
import { reachOf, sensedIn, type Reach, type SizeTarget } from './reach';

/** The dimension that a target's value is shown in. */
export const dimensionOf = ({ sensed }: Pick<SizeTarget, 'sensed'>): DimensionName =>
  sensed === 'level' ? 'length' : sensed;

/** The largest feed and pockets that are tried, followed as long as the rig may take; `interval`: the shortest. */
export function* whyNot(facts: RigFacts, sizing: Sizing, interval: number | null): Work<string[]> {
  const { rig, target, screw } = sizing;
  const name = rig.chambers[target.chamber]!.name;
  const shown = (value: number): string => formatSi(value, dimensionOf(target));
  const sentences: string[] = [];
  const limit = rig.chambers[target.chamber]!.limit;
  if (limit && limit.kind === target.sensed && target.value > limit.value.nominal)
    sentences.push(`${name} may not go beyond ${shown(limit.value.nominal)}, its limit.`);
  const ceiling = yield* ceilingOf(facts, target);
  if (ceiling !== null && ceiling < target.value)
    sentences.push(
      `Strokes stall at ${shown(ceiling)} in ${name} whatever the pockets' size: what a pocket cannot sweep out expands again. Make the clearance a smaller part of the pocket, or add a stage.`,
    );
  const hasFeeds = rig.lines.some((l) => l.kind === 'feed');
  const most = withPocket(LARGEST, interval, hasFeeds ? LARGEST : 1);
  const reach = yield* reachOf(rigWithChoice(rig, most, screw), target, 3);
  const what = `With pockets and openings ${LARGEST} times as large${hasFeeds ? `, ${LARGEST} times the feed` : ''}${interval === null ? '' : ` and a stroke every ${formatTime(interval)}`}`;
  if (reach) sentences.push(`${what}, ${endOf(reach, name, target, shown)}.`);
  return [...new Set(sentences)];
}

/** What became of the largest choice, as the end of a sentence. */
function endOf(reach: Reach, name: string, target: SizeTarget, shown: (value: number) => string): string {
  const nearest = sensedIn(reach.nearest, target.sensed);
  const came = `${name} reaches ${nearest === null ? 'nothing that is measured so' : shown(nearest)}`;
  const after = `after ${formatCount(reach.strokes, 'stroke')}`;
  switch (reach.ended) {
    case 'target':
      return `it takes ${formatTime(Math.ceil(reach.seconds! * 10) * 100_000)}`;
    case 'never':
      return 'no stroke ever starts: nothing trips the trigger';
    case 'stopped':
      return `${came}: there the sensors stop the strokes, ${after}`;
    case 'steady':
      return `${came}, where as much leaves it as strokes bring`;
    case 'round':
      return `${came}, and the rig stops and starts from there on`;
    case 'left':
      return `the rig cannot be followed further than ${formatTime(Math.round(reach.followed * 1e6))}: ${reach.left ?? 'it leaves the range of the law'}`;
    case 'overfull':
      return `a chamber is at twice its limit ${after}, and nothing stops the rig`;
    case 'budget':
      return reach.followed >= target.within
        ? `${came} in ${formatTime(Math.round(reach.followed * 1e6))}, ${after}`
        : `the budget of the engine ended at ${formatTime(Math.round(reach.followed * 1e6))}: not decided`;
  }
}

/** Where strokes stall, in what the target measures; null where they do not or it is not known. */
function* ceilingOf(facts: RigFacts, target: SizeTarget): Work<number | null> {
  const states = yield* patiently(() =>
    (facts.flow?.strokes ?? []).flatMap((s) => s.stacks.filter((k) => k.to === target.chamber).map((k) => k.ceiling)),
  );
  const values = states.map((state) => state && sensedIn(state, target.sensed));
  return values.length === 0 || values.some((v) => v === null) ? null : Math.max(...(values as number[]));
}

/** Whether a chamber of the rig can have such a reading at all. */
export function canRead(facts: RigFacts, { chamber, sensed, value }: SizeTarget): boolean {
  const model = flowRun(facts.rig)?.model;
  const vessel = model?.vessels[chamber];
  return !model || !vessel || massAt(model.law, vessel, sensed, value, vessel.temperature) !== null;
}
