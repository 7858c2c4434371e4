/** How much a margin should be: what stated tolerances may take from it, or a documented share where none is stated. */
import type { Element, Rig } from '../model/rig';
import { startOptions } from '../run/analyse';
import type { TimingFacts } from '../timing/facts';
import { kept, type Kept, type Work } from '../work/work';
import { guaranteeWork } from '../timing/guarantee';
import { looseTimes } from '../timing/tolerance';

/** Without stated tolerances a margin below this is thin: 10 ms, or 2 % of the preset if that is more. Our own choice. */
export const THIN = { least: 10_000, share: 0.02 } as const;

/**
 * The least margin of a timer that stated tolerances cannot take away, in microseconds: what they take from it at worst, whatever the
 * signals between what feeds it and itself. Without stated tolerances our own least.
 */
export function marginNeeded(rig: Rig, element: Element): number {
  const preset = element.preset;
  if (!preset) return THIN.least;
  const stated = marginLosses(rig).get(rig.network.elements.indexOf(element)) ?? statedSpread(rig, element);
  return stated > 0 ? stated : Math.max(THIN.least, Math.round(preset.nominal * THIN.share));
}

type Losses = ReadonlyMap<number, number>;

const LOSSES = new WeakMap<Rig, Kept<Losses>>();

/** For each on-delay with a margin: how much of it the tolerances can take, over all strokes. Empty without tolerances. */
const marginLosses = (rig: Rig): Losses => lossesOf(rig).value();

/** The same in steps, computed once for a rig: whoever asks for margins afterwards takes no time. */
export const lossesWork = (rig: Rig): Work<Losses> => lossesOf(rig).work();

function lossesOf(rig: Rig): Kept<Losses> {
  let losses = LOSSES.get(rig);
  if (!losses) LOSSES.set(rig, (losses = kept(() => computeLosses(rig))));
  return losses;
}

function* computeLosses(rig: Rig): Work<Losses> {
  const losses = new Map<number, number>();
  if (looseTimes(rig).length === 0) return losses;
  const nothing = { doors: [], nets: [] };
  const ranges = yield* guaranteeWork(rig, margins, nothing, { orders: 12, verify: false }, startOptions(rig));
  for (const [name, { nominal, min, cut, guaranteed }] of ranges) {
    const element = Number(name.split(' ')[0]);
    if (nominal === null) continue;
    // Where neither search came to its end the loss is at least what the text states about the timer and what feeds it.
    const stated = cut && !guaranteed ? statedSpread(rig, rig.network.elements[element]!) : 0;
    losses.set(element, Math.max(losses.get(element) ?? 0, nominal - min, stated));
  }
  return losses;
}

function margins(facts: TimingFacts): Map<string, number> {
  const found = new Map<string, number>();
  facts.strokes.forEach((stroke, s) => {
    for (const { element, margin } of stroke.timers) if (margin !== null) found.set(`${element} ${s}`, margin);
  });
  return found;
}

/** Worst-case loss by the tolerances of the timer itself and of the timer that feeds it: for timers whose margin is not a single number. */
function statedSpread(rig: Rig, element: Element): number {
  const feeding = feedingElement(rig, element);
  const own = element.preset!.max - element.preset!.nominal;
  const fed = feeding?.preset ? feeding.preset.nominal - feeding.preset.min : 0;
  const responses = feeding ? feeding.response.max - feeding.response.min : 0;
  return own + fed + responses;
}

/** The element whose output is this one's input, where it is one net alone. */
function feedingElement(rig: Rig, element: Element): Element | null {
  const input = element.inputs[0];
  const net = input?.op === 'net' ? rig.network.nets[input.net] : undefined;
  return net?.kind === 'element' ? (rig.network.elements[net.index] ?? null) : null;
}
