/** `flow/over-limit`: a chamber goes over its limit when the rig runs by itself. */
import { asOperand } from '../../../../grammar/src/rewrite';
import { formatSi, formatTime } from '../../units/units';
import { preparedFilling } from './prepared';
import type { RunPoint } from '../../flow/facts';
import type { Fix, Problem } from '../../model/problem';
import type { Chamber, Rig, Signal } from '../../model/rig';
import { type Check, type CheckContext, found } from '../check';
import { expressionOf, insertStatement } from '../repair/edits';
import { say } from '../../words/say';

export const overLimit: Check = {
  code: 'flow/over-limit',
  title: 'Chamber goes over its limit',
  severity: 'warning',
  explanation:
    'With its feeds and draws on and its sensors as the contents give them, the rig brings a chamber above its `limit`: nothing stops it in time. Put a sensor on that chamber and let it stop the strokes, or the feed. The message says after how many strokes, followed stroke by stroke.',
  prepare: preparedFilling,
  run(context) {
    const filling = context.facts.flow?.filling;
    if (!filling) return [];
    return context.rig.chambers.flatMap((chamber, k) => {
      const point = filling.overLimit[k];
      return point ? [problem(context, chamber, k, point)] : [];
    });
  },
};

function problem(context: CheckContext, chamber: Chamber, index: number, point: RunPoint): Problem {
  const { kind, value } = chamber.limit!;
  const after =
    point.strokes > 1
      ? say`after ${point.strokes} strokes`
      : point.strokes > 0
        ? say`after 1 stroke`
        : say`before the first stroke`;
  const message = say`${chamber.name} goes over its limit of ${formatSi(value.nominal, kind)} ${after}, ${duration(point.t)} from the start: nothing stops the rig there.`;
  return found(overLimit, value.at, message, { chambers: [index] }, { fixes: fixesOf(context, chamber, index) });
}

/** A time of a whole filling, to the second. */
const duration = (us: number): string => formatTime(us < 1e6 ? us : Math.round(us / 1e6) * 1e6);

/** A sensor below the limit, taken into the signal that starts strokes. */
function fixesOf(context: CheckContext, chamber: Chamber, index: number): Fix[] {
  const { rig } = context;
  if (!context.recheck || rig.stacks.every((stack) => stack.members[0]?.index === index)) return [];
  const start = startSignal(context);
  const expression = start && expressionOf(context, start.whole);
  if (!start || !expression || expression.text.includes('\n')) return [];
  const name = freeName(rig, `${chamber.name.replace(/\./g, '_')}_full`);
  const { kind, value } = chamber.limit!;
  const [on, clears] = [formatSi(0.9 * value.nominal, kind), formatSi(0.85 * value.nominal, kind)];
  const sensor = insertStatement(
    context,
    `sensor ${name} on ${chamber.name} { ${kind} above ${on}  clears below ${clears} }`,
    rig.sensors.map((s) => s.whole),
  );
  if (!sensor) return [];
  const text = `${asOperand(expression.text, 'and')} and not ${name}`;
  return [
    {
      title: say`Stop strokes by a sensor on ${chamber.name} at ${on}`,
      edits: [sensor, { at: expression.at, text }],
      preferred: true,
    },
  ];
}

/** The signal whose change starts each stroke. */
function startSignal({ rig, facts }: CheckContext): Signal | null {
  const net = facts.timing.strokes[0]?.startNet ?? -1;
  return rig.signals.find((signal) => signal.net === net) ?? null;
}

function freeName(rig: Rig, wanted: string): string {
  const taken = new Set(
    [
      ...rig.chambers,
      ...rig.doors,
      ...rig.lines,
      ...rig.switches,
      ...rig.sensors,
      ...rig.signals,
      ...rig.sequences,
      ...rig.scenarios,
    ].map((i) => i.name),
  );
  let name = wanted;
  for (let k = 2; taken.has(name); k++) name = `${wanted}_${k}`;
  return name;
}
