/** `flow/short-fill`: a door shuts before what it opened to has filled. */
import { statedOpening } from '../../flow/opening-laws';
import { prepare } from '../../work/work';
import type { Source, Repair } from '../../model/problem';
import type { Quantity, Rig } from '../../model/rig';
import type { CutOff } from '../../flow/watch';
import { analysisOf } from '../../run/analyse';
import { formatNumber, unitNamed } from '../../units/units';
import type { Work } from '../../work/work';
import { literalAt, withNumber } from '../repair/edits';
import { type Check, type CheckContext, found, type Found } from '../check';
import { say } from '../../words/say';

export const shortFill: Check = {
  code: 'flow/short-fill',
  title: 'Door shuts before its pocket has filled',
  severity: 'warning',
  explanation:
    'By compressible flow through the opening of the door (bore or area, with its discharge coefficient, 0.62 where none is stated), the pressure behind it is less than 99 % of that before it when it shuts: each stroke moves less than its pocket could. Open it longer, or make the opening larger. For a liquid: less than 99 % of the pocket could fill even against a void. Only where every door states its opening.',
  *prepare({ facts }) {
    yield* prepare(facts, 'flow');
    if (facts.flow?.detailNote) return;
    for (const { stroke } of facts.flow?.strokes ?? []) yield* prepare(facts.flow, `detail ${stroke}`);
  },
  run(context) {
    const { facts } = context;
    return (facts.flow?.strokes ?? []).flatMap(({ stroke }) => {
      if (facts.flow!.detailNote) return [];
      return (facts.flow!.detail(stroke)?.shortFills ?? []).map((cut) => problem(context, cut));
    });
  },
};

function problem(context: CheckContext, cut: CutOff): Found {
  const door = context.rig.doors[cut.door]!;
  const share = `${formatNumber(Number((cut.fill * 100).toPrecision(3)))} %`;
  const message =
    cut.kind === 'fill'
      ? say`${door.name} shuts when the pocket behind it has reached only ${share} of the pressure before it: a stroke moves less than it could.`
      : say`The pocket of ${door.name} has pushed out only ${share} of its gas through the next opening when the door shuts: a stroke moves less than it could.`;
  const related = [
    {
      at: statedOpening(door)?.at ?? door.at,
      message: cut.kind === 'fill' ? say`the opening it fills through` : say`its own opening`,
    },
  ];
  return found(
    shortFill,
    door.at,
    message,
    { doors: [cut.door] },
    { related, repair: () => fixesOf(context, cut.door) },
  );
}

/** A larger opening for this door, tried before it is offered. */
function* fixesOf(context: CheckContext, door: number): Work<Repair[]> {
  const { rig } = context;
  const opening = statedOpening(rig.doors[door]!);
  const literal = opening && literalAt(context, opening.at);
  if (!context.recheck || !literal) return [];
  const isBore = unitNamed(literal.unit)?.dimension === 'length';
  const { area, kv } = rig.doors[door]!;
  const named = isBore ? say`bore` : opening === area ? say`area` : opening === kv ? 'Kv' : say`conductance`;
  for (const factor of [1.25, 1.5, 2, 3, 4]) {
    const changed = withOpening(rig, opening.at, isBore ? factor ** 2 : factor);
    const facts = yield* analysisOf(changed);
    yield* prepare(facts, 'flow');
    for (const s of facts.flow?.strokes ?? []) yield* prepare(facts.flow, `detail ${s.stroke}`);
    // What could not be computed is not known to fill.
    const details = (facts.flow?.strokes ?? []).map((s) => facts.flow!.detail(s.stroke));
    if (details.length === 0 || details.some((d) => !d || d.shortFills.some((c) => c.door === door))) continue;
    const text = withNumber(literal, Number(literal.number) * factor, 4);
    return [
      {
        title: say`Make the ${named} of ${rig.doors[door]!.name} ${text}`,
        edits: [{ at: opening.at, text }],
      },
    ];
  }
  return [];
}

function withOpening(rig: Rig, at: Source, factor: number): Rig {
  const larger = (q: Quantity | null): Quantity | null =>
    q && q.at.start === at.start && q.at.uri === at.uri
      ? { ...q, nominal: q.nominal * factor, min: q.min * factor, max: q.max * factor }
      : q;
  return {
    ...rig,
    doors: rig.doors.map((door) => {
      const { area, kv, conductance } = door;
      return { ...door, area: larger(area), kv: larger(kv), conductance: larger(conductance) };
    }),
  };
}
