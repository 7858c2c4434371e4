/** What a door lets through: open by area, by flow coefficient (IEC 60534) or by conductance (ISO 6358), and shut by its leak. */
import { place, report } from './context';
import { measured, type PropertyBag, propertyOf, quantity } from './properties';
import type { Door, Quantity } from './rig';
import { say } from '../words/say';

/** Area of a round opening, m2, from its bore in m. */
function areaOfBore(bore: Quantity): Quantity {
  const area = (d: number): number => (Math.PI / 4) * d * d;
  return { nominal: area(bore.nominal), min: area(bore.min), max: area(bore.max), at: bore.at };
}

function openingArea(bag: PropertyBag): Quantity | null {
  const [bore, area] = [propertyOf(bag, 'bore'), propertyOf(bag, 'area')];
  if (bore !== undefined && area !== undefined) {
    const message = say`The opening is stated twice, as bore and as area; the area counts.`;
    report(bag.ctx, 'value/conflict', message, place(bag.scope, bore.span));
  }
  const diameter = quantity(bag, 'bore');
  return quantity(bag, 'area') ?? (diameter === null ? null : areaOfBore(diameter));
}

/** How much a door lets through: a bore or area says how large its leaf is too, beside `kv` or `conductance`. */
export function openingOf(bag: PropertyBag): Pick<Door, 'area' | 'discharge' | 'kv' | 'xt' | 'conductance' | 'ratio'> {
  const area = openingArea(bag);
  const discharge = quantity(bag, 'discharge');
  const kv = quantity(bag, 'kv');
  const xt = quantity(bag, 'xt');
  const conductance = quantity(bag, 'conductance');
  const ratio = quantity(bag, 'ratio');
  if (kv !== null && conductance !== null) {
    const message = say`The flow through the opening is stated twice, as kv and as conductance; remove one of the two.`;
    const related = [{ at: kv.at, message: say`also stated here` }];
    report(bag.ctx, 'value/conflict', message, conductance.at, { related });
  }
  const isConductance = conductance !== null && kv === null;
  if (isConductance && ratio === null && propertyOf(bag, 'ratio') === undefined) reportNoRatio(bag);
  reportWithout(bag, 'xt', 'kv');
  reportWithout(bag, 'ratio', 'conductance');
  if (kv !== null || conductance !== null) reportUnused(bag, 'discharge');
  const whole = isConductance && ratio !== null;
  return { area, discharge, kv, xt, conductance: whole ? conductance : null, ratio: whole ? ratio : null };
}

function reportNoRatio(bag: PropertyBag): void {
  const { span } = propertyOf(bag, 'conductance')!;
  const at = place(bag.scope, span);
  const fixes = ['0.3', '0.5'].map((b) => ({
    title: say`Add ratio ${b}`,
    edits: [{ at: { ...at, start: at.end }, text: ` ratio ${b}` }],
  }));
  const message = say`A conductance needs its critical back-pressure ratio b beside it: ratio 0.3, from the data sheet.`;
  report(bag.ctx, 'value/missing', message, at, { fixes });
}

/** A property that says something about another one, which is not there. */
function reportWithout(bag: PropertyBag, keyword: string, needed: string): void {
  const property = propertyOf(bag, keyword);
  if (property === undefined || propertyOf(bag, needed) !== undefined) return;
  report(
    bag.ctx,
    'value/no-effect',
    say`${keyword} says something about ${needed}, which is not stated.`,
    place(bag.scope, property.span),
  );
}

function reportUnused(bag: PropertyBag, keyword: string): void {
  const property = propertyOf(bag, keyword);
  if (property === undefined) return;
  const message = say`${keyword} has no effect: the flow through the opening is stated as a whole.`;
  report(bag.ctx, 'value/no-effect', message, place(bag.scope, property.span));
}

const LEAK_KINDS = { none: 'share', area: 'area', flow_conductance: 'conductance' } as const;

export function leakOf(bag: PropertyBag, opening: Pick<Door, 'area' | 'kv' | 'conductance'>): Door['leak'] {
  const made = measured(bag, 'leak');
  if (made === null) return null;
  const kind = LEAK_KINDS[made.dimension as keyof typeof LEAK_KINDS];
  const value = made.quantity;
  if (kind !== 'share') return { kind, value };
  if (value.max > 1) {
    report(bag.ctx, 'value/out-of-range', say`A door cannot leak more than its whole opening, 100 %.`, value.at);
    return null;
  }
  if (opening.area !== null || opening.kv !== null || opening.conductance !== null) return { kind, value };
  const message = say`A leak as a share needs the opening it is a share of: state bore, area, kv or conductance, or the leak as an area.`;
  report(bag.ctx, 'value/missing', message, value.at);
  return null;
}
