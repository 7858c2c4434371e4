/** How much a feed or draw moves: a rate, or a pump by its curve. */
import { place, report } from './context';
import { measured, type PropertyBag, propertyOf, word } from './properties';
import { quantityOf } from './quantities';
import type { FlowRate, Line, PumpCurve } from './rig';
import { say } from '../words/say';

/** What a volume flow counts where the text does not say: the volume at the suction side. */
const SUCTION = { feed: 'free', draw: 'actual' } as const;

export function flowRate(bag: PropertyBag, keyword: string, line: Line['kind']): FlowRate | null {
  const made = measured(bag, keyword);
  const stated = word(bag, keyword, ['free', 'actual']);
  if (made === null) return null;
  const kind = made.dimension as FlowRate['kind'];
  if (kind === 'volume_flow') return { kind, value: made.quantity, basis: stated ?? SUCTION[line] };
  if (stated !== null) {
    const message =
      kind === 'mass_flow'
        ? say`${stated} says how a volume is counted; this ${keyword} is a mass.`
        : say`${stated} says how a volume is counted; this ${keyword} is counted in normal volumes.`;
    report(bag.ctx, 'value/no-effect', message, place(bag.scope, propertyOf(bag, keyword)!.words[0]!.span));
  }
  return { kind, value: made.quantity, basis: 'actual' };
}

const CURVE_RANGES = {
  pressure: { what: () => say`The pressure of a point`, least: 0, words: () => say`vacuum (0 bar absolute) or more` },
  flow: { what: () => say`The flow of a point`, least: 0, words: () => say`0 or more` },
} as const;

/** A pump by points; null where one of them cannot be read or they do not make a curve (reported). */
export function pumpCurve(bag: PropertyBag, line: Line['kind']): PumpCurve | null {
  const { ctx, scope } = bag;
  const property = propertyOf(bag, 'curve');
  const pairs = property?.pairs ?? [];
  if (property === undefined || pairs.length === 0) return null;
  const points = pairs.flatMap(([x, y]) => {
    const pressure = quantityOf(bag, x, ['pressure'], CURVE_RANGES.pressure);
    const flow = quantityOf(bag, y, ['volume_flow', 'mass_flow'], CURVE_RANGES.flow);
    return pressure === null || flow === null
      ? []
      : [{ pressure: pressure.quantity, flow: flow.quantity, kind: flow.dimension as PumpCurve['kind'] }];
  });
  const [first] = points;
  if (first === undefined || points.length < pairs.length) return null;
  const odd = points.find((p) => p.kind !== first.kind);
  if (odd !== undefined) {
    const message = say`A curve counts either volumes or masses; this point counts the other.`;
    report(ctx, 'value/conflict', message, odd.flow.at, {
      related: [{ at: first.flow.at, message: say`the first point` }],
    });
    return null;
  }
  const back = points.find((p, i) => i > 0 && p.pressure.nominal <= points[i - 1]!.pressure.nominal);
  if (back !== undefined) {
    const message = say`The points of a curve stand in order of rising pressure; this one is not above the one before it.`;
    report(ctx, 'value/conflict', message, back.pressure.at);
    return null;
  }
  const basis = first.kind === 'volume_flow' ? SUCTION[line] : 'actual';
  const at = place(scope, property.span);
  return { kind: first.kind, basis, points: points.map(({ pressure, flow }) => ({ pressure, flow })), at };
}
