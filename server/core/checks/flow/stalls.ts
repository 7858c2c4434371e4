/** `flow/stalls`: strokes stop moving anything before the store is at its limit. */
import { prepare } from '../../work/work';
import { preparedFilling } from './prepared';
import type { ChamberState, StackStroke } from '../../flow/facts';
import { packedText } from '../../flow/states';
import { massAt } from '../../flow/vessel';
import { DIMENSION_OF } from '../../model/items';
import type { Fix, Problem, Source, Repair } from '../../model/problem';
import type { Door, Quantity, Rig } from '../../model/rig';
import { analysisOf } from '../../run/analyse';
import { quickRun } from '../../run/scenario-run';
import { formatSi } from '../../units/units';
import type { Work } from '../../work/work';
import { literalAt, withNumber } from '../repair/edits';
import { type Check, type CheckContext, found, type Found } from '../check';
import { say } from '../../words/say';

export const stalls: Check = {
  code: 'flow/stalls',
  title: 'Strokes stop moving anything',
  severity: 'warning',
  explanation:
    "What is left in the clearances takes back as much as a stroke brings before the last chamber of the stack is at its `limit` (the trigger's chamber at its threshold). From there on the doors only use power. Make the clearance smaller, the pocket larger, or start from a higher pressure. Only stacks whose last chamber states a limit are judged, and no rig that a measured `moves` describes. A stack of three or more doors that all open in a stroke which brings nothing at all is reported with or without a limit: each pocket is pushed back to where it was filled from, because the next door opens only when the one before it is shut. Two doors with nothing between them are a lock and reported only where a feed fills the first chamber or a draw empties the last; where a pocket is trapped that is reported instead.",
  *prepare(context) {
    yield* preparedFilling(context);
    for (const { stacks } of context.facts.flow?.strokes ?? []) {
      for (const s of stacks) {
        if (s.atTrigger === 0) yield* prepare(s, 'atStart');
        if (context.rig.chambers[s.to]!.limit && !stopsBefore(context, s.to)) yield* prepare(s, 'ceiling');
      }
    }
  },
  run: (context) =>
    (context.facts.flow?.strokes ?? []).flatMap((stroke) =>
      stroke.stacks.flatMap((s) => {
        if (stroke.trapped.length === 0 && isIdle(context, stroke.stroke, s)) return [idleProblem(context, s)];
        if (stopsBefore(context, s.to) || goesOverLimit(context, s.to)) return [];
        return isStalled(context.rig, s) ? [problem(context, s, stroke.stroke)] : [];
      }),
    ),
};

/**
 * All doors of the stack open in the stroke, there is something to move, and nothing is. Two doors may be a lock that nothing shall pass;
 * they are a pump by what is stated where a feed fills the one end or a draw empties the other.
 */
function isIdle({ rig, facts }: CheckContext, stroke: number, s: StackStroke): boolean {
  if (s.atTrigger !== 0 || s.atStart !== 0 || !(facts.flow!.start[s.from]!.mass > 0)) return false;
  const { doors } = facts.timing.strokes[stroke]!;
  const opens = (door: number): boolean => doors.some((d) => d.door === door && d.windows.length > 0);
  const pumping = doorsOf(rig, s);
  const isSupplied = rig.lines.some(({ kind, chamber }) => chamber === (kind === 'feed' ? s.from : s.to));
  const isPump = pumping.length > 2 || (pumping.length === 2 && isSupplied);
  return isPump && pumping.every((door) => opens(rig.doors.indexOf(door)) && (door.pocket?.nominal ?? 0) > 0);
}

function idleProblem({ rig }: CheckContext, s: StackStroke): Problem {
  const doors = doorsOf(rig, s);
  const way =
    doors.length > 2
      ? say`Open the next door before the one in front of it closes.`
      : say`Two doors with nothing between them are a lock; a pump has a third door, or a chamber between the two.`;
  const message = say`A stroke brings nothing from ${rig.chambers[s.from]!.name} to ${rig.chambers[s.to]!.name}: each pocket is pushed back to where it was filled from. ${way}`;
  const related = doors.map((door) => ({ at: door.at, message: say`opens and closes on the way` }));
  return found(stalls, rig.stacks[s.stack]!.members[0]!.at, message, { doors: doorIndices(rig, s) }, { related });
}

/** Whether a sensor on the chamber stops the strokes below what they could reach, as the rig is followed. */
function stopsBefore({ facts }: CheckContext, chamber: number): boolean {
  const filling = facts.flow?.filling;
  return (
    filling?.milestones.some((m) => m.chamber === chamber && m.sensor !== null && m.reached !== null) === true &&
    (filling.ended === 'stopped' || filling.ended === 'round')
  );
}

/** Followed, with a source that is fed beyond the trigger's threshold, the chamber gets there all the same. */
const goesOverLimit = ({ facts }: CheckContext, chamber: number): boolean =>
  (facts.flow?.filling?.overLimit[chamber] ?? null) !== null;

/** The ceiling is below the limit. */
function isStalled(rig: Rig, stack: StackStroke): boolean {
  const { to } = stack;
  const limit = rig.chambers[to]!.limit;
  const model = limit && quickRun(rig)?.model;
  // The ceiling takes long to compute: it is read last.
  const ceiling = model && stack.ceiling;
  if (!limit || !model || !ceiling) return false;
  const most = massAt(model.law, model.vessels[to]!, limit.kind, limit.value.nominal, model.vessels[to]!.temperature);
  return most !== null && ceiling.mass < most * (1 - 1e-9);
}

const stateText = (state: ChamberState): string =>
  state.pressure === null ? packedText(state) : formatSi(state.pressure, 'pressure');

/** The ceiling holds for a trigger's chamber at its threshold: which state that is, and what happens in a run that is fed beyond it. */
function given({ rig, facts }: CheckContext, s: StackStroke, stroke: number): string {
  const sensor = rig.sensors[facts.timing.strokes[stroke]!.sensor];
  const source = rig.chambers[s.from]!.name;
  const filling = facts.flow!.filling;
  const [from, to] = [filling?.highest[s.from], filling?.highest[s.to]];
  const on = sensor?.chamber === s.from ? sensor.on : null;
  const where = on
    ? say`, with ${source} at ${formatSi(on.value.nominal, DIMENSION_OF[on.sensed])}, where a stroke starts`
    : '';
  const isBeyond = from && to && to.mass > s.ceiling!.mass * (1 + 1e-3);
  if (!isBeyond) return where;
  const isCut = filling!.ended === 'budget' || filling!.ended === 'left';
  return say`${where}. In the followed run ${source} reaches ${stateText(from)} and the ceiling rises to ${stateText(to)}${isCut ? say` by its end` : ''}`;
}

function problem(context: CheckContext, s: StackStroke, stroke: number): Found {
  const { rig } = context;
  const { name, limit } = rig.chambers[s.to]!;
  const message = say`Strokes move nothing more into ${name} once it is at ${stateText(s.ceiling!)}, below its limit of ${formatSi(limit!.value.nominal, limit!.kind)}: from there on as much flows back as they bring${given(context, s, stroke)}.`;
  const doors = doorsOf(rig, s).filter((door) => door.clearance);
  const related = doors.map((door) => ({ at: door.clearance!.at, message: say`clearance of ${door.name}` }));
  return found(
    stalls,
    limit!.value.at,
    message,
    { doors: doorIndices(rig, s) },
    { related, repair: () => fixesOf(context, s) },
  );
}

const doorIndices = (rig: Rig, s: StackStroke): number[] =>
  rig.stacks[s.stack]!.members.flatMap((m) => (m.kind === 'door' ? [m.index] : []));

const doorsOf = (rig: Rig, s: StackStroke): Door[] => doorIndices(rig, s).map((door) => rig.doors[door]!);

/** One smaller clearance for the doors of the stack, each place of the text once, tried before it is offered. */
function* fixesOf(context: CheckContext, s: StackStroke): Work<Repair[]> {
  const { rig } = context;
  if (!context.recheck) return [];
  const places = new Map<string, Quantity>();
  for (const { clearance } of doorsOf(rig, s))
    if (clearance) places.set(`${clearance.at.uri}:${clearance.at.start}`, clearance);
  const literals = [...places.values()].filter((q) => literalAt(context, q.at));
  if (literals.length < places.size || literals.length === 0) return [];
  for (const share of [0.5, 0.25, 0.1, 0.05]) {
    const smaller = withClearances(rig, share);
    const facts = yield* analysisOf(smaller);
    yield* prepare(facts, 'flow');
    const strokes = facts.flow?.strokes ?? [];
    for (const { stacks } of strokes) for (const stack of stacks) yield* prepare(stack, 'ceiling');
    if (strokes.some((stroke) => stroke.stacks.some((x) => isStalled(smaller, x)))) continue;
    const edits = literals.flatMap((q) => scaled(context, q.at, share) ?? []);
    return [
      {
        title:
          share === 0.5
            ? say`Make the clearances of the stack half what they are`
            : say`Make the clearances of the stack ${share * 100} % of what they are`,
        edits,
      },
    ];
  }
  return [];
}

function scaled(context: CheckContext, at: Source, share: number): Fix['edits'][number] | null {
  const literal = literalAt(context, at);
  return literal && { at, text: withNumber(literal, Number(literal.number) * share, 6) };
}

function withClearances(rig: Rig, share: number): Rig {
  const less = (q: Quantity | null): Quantity | null =>
    q && { ...q, nominal: q.nominal * share, min: q.min * share, max: q.max * share };
  return { ...rig, doors: rig.doors.map((door) => ({ ...door, clearance: less(door.clearance) })) };
}
