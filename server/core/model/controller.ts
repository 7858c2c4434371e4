/** The controller of a rig: what it states about elements, and what holds where it states nothing. */
import type { ControllerStatement } from '../../../grammar/src/ast';
import { dimensionOf } from '../units/dimensions';
import { type Rational, ZERO } from '../units/rational';
import { type At, markIncomplete, place, report } from './context';
import { evaluate } from './evaluate';
import type { Timing } from './network';
import { bagOf, type PropertyBag, propertyOf, quantity, time } from './properties';
import type { Source } from './problem';
import type { Controller, TimeValue } from './rig';
import { say } from '../words/say';

export interface ResolvedController {
  readonly controller: Controller;
  readonly timing: Timing;
}

function none(at: Source): TimeValue {
  return { nominal: 0, min: 0, max: 0, at };
}

/** Without a controller statement every element answers at once. */
export function absentController(at: Source): ResolvedController {
  const controller: Controller = { style: 'response', time: none(at), timerAccuracy: null, at: null };
  return { controller, timing: { style: 'response', response: controller.time, scan: null, accuracy: ZERO } };
}

/** The accuracy once more, exactly: presets are widened by it before they become whole microseconds. */
function exactAccuracy(bag: PropertyBag): Rational {
  const value = propertyOf(bag, 'timer_accuracy')?.value ?? null;
  const amount = value === null ? null : evaluate(bag, value);
  return amount === null || dimensionOf(amount.vector) !== 'none' ? ZERO : amount.high;
}

export function resolveController(here: At, statement: ControllerStatement): ResolvedController {
  const { ctx, scope } = here;
  const bag = bagOf(here, 'controller', statement.properties);
  const at = place(scope, statement.keywordSpan);
  const response = time(bag, 'response');
  const scan = time(bag, 'scan');
  const [first, second] = [propertyOf(bag, 'response'), propertyOf(bag, 'scan')];
  if (first !== undefined && second !== undefined) {
    const message = say`A controller is either scanned or answers after a response; the scan counts.`;
    report(ctx, 'value/conflict', message, place(scope, first.span), {
      related: [{ at: place(scope, second.span), message: say`the scan` }],
    });
  }
  const timerAccuracy = quantity(bag, 'timer_accuracy');
  const stated = ['response', 'scan', 'timer_accuracy'].filter((keyword) => propertyOf(bag, keyword) !== undefined);
  const read = [response, scan, timerAccuracy].filter((value) => value !== null);
  if (read.length < stated.length) markIncomplete(here, statement.span);
  const accuracy = timerAccuracy === null ? ZERO : exactAccuracy(bag);
  const style = scan === null ? 'response' : 'scan';
  const controller: Controller = { style, time: scan ?? response ?? none(at), timerAccuracy, at };
  const answers = style === 'scan' ? none(at) : controller.time;
  return { controller, timing: { style, response: answers, scan, accuracy } };
}
