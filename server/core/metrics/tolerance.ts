/** How much a margin should be: what stated tolerances may take from it, or a documented share where none is stated. */
import type { Element, Rig } from '../model/rig';

/** Without stated tolerances a margin below this is thin: 10 ms, or 2 % of the preset if that is more. Our own choice. */
export const THIN = { least: 10_000, share: 0.02 } as const;

/**
 * The least margin of an on-delay that is not luck, in microseconds. With stated tolerances: what they take together at worst: the
 * preset late, the feeding timers and each response on the way early or late.
 */
export function marginNeeded(rig: Rig, element: Element): number {
  const preset = element.preset;
  if (!preset) return THIN.least;
  const stated = statedSpread(rig, element);
  return stated > 0 ? stated : Math.max(THIN.least, Math.round(preset.nominal * THIN.share));
}

/** Worst-case loss by the tolerances of the timer itself and of the timer that feeds it (the ends of one pulse: two responses). */
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
