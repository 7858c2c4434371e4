/** `timer/never-ends`: a timer that keeps itself on for good. */
import type { Problem } from '../../model/problem';
import type { Rig } from '../../model/rig';
import type { StrokeFacts } from '../../timing/facts';
import type { RigFacts } from '../../run/facts';
import type { Check } from '../check';
import { inputsOf, inputsOfRig, sourcesOf } from '../../model/logic';
import type { Trial } from '../repair/trial';
import { restBefore, turn } from '../repair/trial';

export const neverEnds: Check = {
  code: 'timer/never-ends',
  title: 'Timer that keeps itself on',
  severity: 'warning',
  explanation:
    'The output of a TON or TOF comes back to its own input. Once on it stays on: after the trigger has gone, and after every switch and sensor has been turned and turned back, it is still on, so no second stroke can start. Take the timer out of its own input; to hold a state, use a latch (SR, RS) that something resets.',
  run({ rig, facts }) {
    const suspects = selfFed(rig);
    if (suspects.length === 0) return [];
    const stuck = new Set(facts.timing.strokes.flatMap((stroke) => stuckAfter(facts, stroke, suspects)));
    return [...stuck].map((index) => problemOf(rig, index));
  },
};

/** Timers that depend on themselves, by element. */
function selfFed(rig: Rig): number[] {
  return rig.network.elements.flatMap((element, index) => {
    const isTimer = (element.kind === 'TON' || element.kind === 'TOF') && (element.preset?.nominal ?? 0) > 0;
    return isTimer && sourcesOf(rig, inputsOf(element)).has(element.net) ? [index] : [];
  });
}

/** Suspects that are on after the trigger has come and gone, and stay on whatever is turned then. */
function stuckAfter(facts: RigFacts, stroke: StrokeFacts, suspects: readonly number[]): number[] {
  const { rig } = facts;
  const isOn = (trial: Trial, index: number): boolean => trial.engine.values[rig.network.elements[index]!.net] === 1;
  const trigger = stroke.trigger.net;
  const others = inputsOfRig(rig).flatMap((input) => (input.net === trigger ? [] : [input.net]));
  let trial = turn(restBefore(facts, stroke), trigger);
  let stuck = [...suspects];
  for (const net of [trigger, ...others.flatMap((input) => [input, input])]) {
    trial = turn(trial, net);
    // A rig that goes on moving sets it back by itself at some time.
    if (!trial.quiet) return [];
    stuck = stuck.filter((index) => isOn(trial, index));
  }
  return stuck;
}

function problemOf(rig: Rig, index: number): Problem {
  const { name, at } = rig.network.elements[index]!;
  const message = `${name} keeps itself on: once on, it never goes off again, whatever the sensors and switches do.`;
  return { code: neverEnds.code, severity: neverEnds.severity, message, at };
}
