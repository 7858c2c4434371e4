/** `flow/stalls`: strokes stop moving anything before the store is at its limit. */
import type { StackStroke } from '../../flow/facts';
import { massAt } from '../../flow/vessel';
import type { Fix, Problem, Source } from '../../model/problem';
import type { Door, Quantity, Rig } from '../../model/rig';
import { analyseRig } from '../../run/analyse';
import { quickRun } from '../../run/scenario-run';
import { formatSi } from '../../units/units';
import type { Check, CheckContext } from '../check';

export const stalls: Check = {
  code: 'flow/stalls',
  title: 'Strokes stop moving anything',
  severity: 'warning',
  explanation:
    "What is left in the clearances takes back as much as a stroke brings before the last chamber of the stack is at its `limit` (the trigger's chamber at its threshold). From there on the doors only use power. Make the clearance smaller, the pocket larger, or start from a higher pressure. Only stacks whose last chamber states a limit are judged, and no rig that a measured `moves` describes.",
  run: (context) =>
    (context.facts.flow?.strokes ?? []).flatMap((stroke) =>
      stroke.stacks.flatMap((s) => (isStalled(context.rig, s) ? [problem(context, s)] : [])),
    ),
};

/** The ceiling lies below the limit. */
function isStalled(rig: Rig, { to, ceiling }: StackStroke): boolean {
  const limit = rig.chambers[to]!.limit;
  const model = quickRun(rig)?.model;
  if (!limit || !ceiling || !model) return false;
  const most = massAt(model.law, model.vessels[to]!, limit.kind, limit.value.nominal, model.vessels[to]!.temperature);
  return most !== null && ceiling.mass < most * (1 - 1e-9);
}

function problem(context: CheckContext, s: StackStroke): Problem {
  const { rig } = context;
  const { name, limit } = rig.chambers[s.to]!;
  const at =
    s.ceiling!.pressure === null ? formatSi(s.ceiling!.density, 'density') : formatSi(s.ceiling!.pressure, 'pressure');
  const message = `Strokes move nothing more into ${name} once it is at ${at}, below its limit of ${formatSi(limit!.value.nominal, limit!.kind)}: from there on as much flows back as they bring.`;
  const doors = doorsOf(rig, s).filter((door) => door.clearance);
  const related = doors.map((door) => ({ at: door.clearance!.at, message: `clearance of ${door.name}` }));
  return {
    code: stalls.code,
    severity: stalls.severity,
    message,
    at: limit!.value.at,
    related,
    fixes: fixesOf(context, s),
  };
}

const doorsOf = (rig: Rig, s: StackStroke): Door[] =>
  rig.stacks[s.stack]!.members.filter((m) => m.kind === 'door').map((m) => rig.doors[m.index]!);

/** One smaller clearance for the doors of the stack, each place of the text once, tried before it is offered. */
function fixesOf(context: CheckContext, s: StackStroke): Fix[] {
  const { rig } = context;
  if (!context.recheck) return [];
  const places = new Map<string, Quantity>();
  for (const { clearance } of doorsOf(rig, s))
    if (clearance) places.set(`${clearance.at.uri}:${clearance.at.start}`, clearance);
  const literals = [...places.values()].filter((q) => literalOf(context, q.at));
  if (literals.length < places.size || literals.length === 0) return [];
  for (const share of [0.5, 0.25, 0.1, 0.05]) {
    const smaller = withClearances(rig, share);
    const strokes = analyseRig(smaller).flow?.strokes ?? [];
    if (strokes.some((stroke) => stroke.stacks.some((x) => isStalled(smaller, x)))) continue;
    const edits = literals.flatMap((q) => scaled(context, q.at, share) ?? []);
    return [
      {
        title: `Make the clearances of the stack ${share === 0.5 ? 'half' : `${share * 100} % of`} what they are`,
        edits,
      },
    ];
  }
  return [];
}

const literalOf = (context: CheckContext, at: Source): RegExpExecArray | null =>
  /^(\d+(?:\.\d+)?)(\s*\p{L}[\p{L}\d]*)$/u.exec(context.text(at.uri)?.slice(at.start, at.end) ?? '');

function scaled(context: CheckContext, at: Source, share: number): Fix['edits'][number] | null {
  const literal = literalOf(context, at);
  return literal && { at, text: `${Number((Number(literal[1]) * share).toPrecision(6))}${literal[2]}` };
}

function withClearances(rig: Rig, share: number): Rig {
  const less = (q: Quantity | null): Quantity | null =>
    q && { ...q, nominal: q.nominal * share, min: q.min * share, max: q.max * share };
  return { ...rig, doors: rig.doors.map((door) => ({ ...door, clearance: less(door.clearance) })) };
}
