/**
 * The times of a rig that have a tolerance as variables of a space of orders. One parameter is one variable wherever its time is used, so
 * that two doors behind one timer stay tied together; all others are constants, which keeps the linear programmes as small as the question.
 */
import type { Rig } from '../model/rig';
import type { TimingOptions } from './analyse';
import type { Space } from './orders/cells';
import { constantForm, variableForm, type Form } from './orders/form';
import { factsWith, factsWithWork, type TimeParameter } from './tolerance';

/** A space in which each parameter is one variable between its `min` and `max`; all other times are nominal. */
export function toleranceSpace(rig: Rig, parameters: readonly TimeParameter[], options: TimingOptions = {}): Space {
  const n = parameters.length;
  // `run` and `times` must choose alike: the forms are checked against runs made by the same parameters.
  const table = new Map(parameters.map((p, k) => [`${p.what} ${p.index}`, variableForm(n, k)]));
  const of = (what: TimeParameter['what'], index: number, nominal: number): Form =>
    table.get(`${what} ${index}`) ?? constantForm(n, nominal);
  return {
    rig,
    box: { low: parameters.map((p) => p.min), high: parameters.map((p) => p.max) },
    times: {
      variables: n,
      preset: (e) => of('preset', e, rig.network.elements[e]!.preset?.nominal ?? 0),
      response: (e) => of('response', e, rig.network.elements[e]!.response.nominal),
      opensIn: (d) => of('opens', d, rig.doors[d]!.opensIn.nominal),
      closesIn: (d) => of('closes', d, rig.doors[d]!.closesIn.nominal),
      scan: () => of('scan', 0, rig.controller.time.nominal),
    },
    run: (at) => factsWith(rig, parameters, at, options),
    runWork: (at) => factsWithWork(rig, parameters, at, options),
  };
}
