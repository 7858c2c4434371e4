/** `cycle/never-starts`: no single change of a switch or sensor starts a stroke. */
import { inputsOfRig } from '../../model/logic';
import type { Problem } from '../../model/problem';
import type { Rig } from '../../model/rig';
import { listText } from '../../timing/words';
import { type Check, found } from '../check';
import { say } from '../../words/say';

export const neverStarts: Check = {
  code: 'cycle/never-starts',
  title: 'Does not start from its stated state',
  severity: 'warning',
  explanation:
    'With the switches as they start and the contents of the chambers as stated, no change of one switch or sensor moves a door: the rig waits for something else first. Where that is a switch it is information (somebody has to throw it, or it should start the other way round); where it is a sensor it is a warning: look whether that sensor can ever change while nothing moves, and whether a `not` is missing. The times are computed with what it waits for turned.',
  run({ rig, facts: { timing } }) {
    const waits = inputsOfRig(rig).filter((input) => timing.turned.includes(input.net));
    const [first] = waits;
    if (!first) return [];
    const turned = ({ name, net }: { readonly name: string; readonly net: number }): string =>
      timing.atRest.trace.initial[net] ? say`${name} off` : say`${name} on`;
    const triggers = timing.strokes.map((s) => (s.becomes ? say`${s.trigger.name} on` : say`${s.trigger.name} off`));
    const words = listText(waits.map(turned));
    const then = listText(triggers);
    const message =
      triggers.length > 1
        ? say`No single change starts a stroke: it waits for ${words}, then ${then} start one.`
        : say`No single change starts a stroke: it waits for ${words}, then ${then} starts one.`;
    const severity = waits.every((input) => input.kind === 'switch') ? 'information' : 'warning';
    const nets = [...waits, ...timing.strokes.map((s) => s.trigger)].map(({ net }) => net);
    return [found(neverStarts, placeOf(rig, first.net), message, { nets }, { severity })];
  },
};

function placeOf(rig: Rig, net: number): Problem['at'] {
  return [...rig.switches, ...rig.sensors].find((item) => item.net === net)?.at ?? rig.at;
}
