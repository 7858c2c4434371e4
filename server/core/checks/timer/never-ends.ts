/** `timer/never-ends`: a timer that keeps itself on permanently. */
import type { Problem } from '../../model/problem';
import type { Rig } from '../../model/rig';
import type { StrokeFacts } from '../../timing/facts';
import type { RigFacts } from '../../run/facts';
import { type Check, found } from '../check';
import { inputsOf, inputsOfRig, sourcesOf } from '../../model/logic';
import type { Trial } from '../repair/trial';
import { changingNets, restBefore, turn } from '../repair/trial';
import { say } from '../../words/say';

export const neverEnds: Check = {
  code: 'timer/never-ends',
  title: 'Timer that keeps itself on',
  severity: 'warning',
  explanation:
    'The output of a TON or TOF comes back to its own input. Once on it stays on: after the trigger has gone, and after every switch and sensor has been turned and turned back, it is still on, so no second stroke can start. Take the timer out of its own input; to hold a state, use a latch (SR, RS) that something resets.',
  run({ rig, facts }) {
    const suspects = selfFed(rig);
    if (suspects.length === 0) return [];
    const stuck = facts.timing.strokes.flatMap((stroke) => stuckAfter(facts, stroke, suspects));
    const once = new Map(stuck.map((s) => [s.heldBy < 0 ? s.index : s.heldBy, s]));
    return [...once.values()].map((s) => problemOf(rig, s));
  },
};

/** Timers that depend on themselves, by element. */
function selfFed(rig: Rig): number[] {
  return rig.network.elements.flatMap((element, index) => {
    const isTimer = (element.kind === 'TON' || element.kind === 'TOF') && (element.preset?.nominal ?? 0) > 0;
    return isTimer && sourcesOf(rig, inputsOf(element)).has(element.net) ? [index] : [];
  });
}

/** A timer that stays on, with the latch or counter that holds it; -1 where it holds itself. */
interface Stuck {
  readonly index: number;
  readonly heldBy: number;
}

/** Suspects that are on after the trigger has come and gone, and stay on whatever is turned then. */
function stuckAfter(facts: RigFacts, stroke: StrokeFacts, suspects: readonly number[]): Stuck[] {
  const { rig } = facts;
  const isOn = (trial: Trial, index: number): boolean => trial.engine.values[rig.network.elements[index]!.net] === 1;
  const trigger = stroke.trigger.net;
  const others = inputsOfRig(rig).flatMap((input) => (input.net === trigger ? [] : [input.net]));
  const before = restBefore(facts, stroke);
  const [from, onBefore] = [before.engine.edgeCount, suspects.filter((index) => isOn(before, index))];
  let trial = turn(before, trigger);
  let stuck = [...suspects];
  for (const net of [trigger, ...others.flatMap((input) => [input, input])]) {
    trial = turn(trial, net);
    // A rig that goes on moving sets it back by itself at some time.
    if (!trial.quiet) return [];
    stuck = stuck.filter((index) => isOn(trial, index));
  }
  // One that is on between strokes and goes off in each was on whenever it was looked at.
  stuck = stuck.filter((index) => {
    const { net } = rig.network.elements[index]!;
    return changesOf(trial, net, from) === (onBefore.includes(index) ? 0 : 1);
  });
  // A clock that runs by itself was on whenever it was looked at, and goes off all the same.
  const changing = changingNets(trial);
  stuck = stuck.filter((index) => !changing.has(rig.network.elements[index]!.net));
  return stuck.map((index) => ({ index, heldBy: holderOf(rig, trial, index) }));
}

/** How often a net has changed since an edge of the record. */
function changesOf({ engine }: Trial, net: number, from: number): number {
  let count = 0;
  for (let i = from; i < engine.edgeCount; i++) if (engine.edgeNet(i) === net) count++;
  return count;
}

/** The latch or counter, on, that an element's input hangs on; the nearest by way of nets that are on. */
function holderOf(rig: Rig, { engine }: Trial, index: number): number {
  const { nets, elements } = rig.network;
  const seen = new Set([index]);
  const waiting = [index];
  for (let e = waiting.shift(); e !== undefined; e = waiting.shift()) {
    for (const net of inputsOf(elements[e]!)) {
      const by = nets[net]!;
      if (by.kind !== 'element' || engine.values[net] !== 1 || seen.has(by.index)) continue;
      if (['SR', 'RS', 'CTU'].includes(elements[by.index]!.kind)) return by.index;
      seen.add(by.index);
      waiting.push(by.index);
    }
  }
  return -1;
}

function problemOf(rig: Rig, { index, heldBy }: Stuck): Problem {
  const { name, at, net } = rig.network.elements[index]!;
  const holder = rig.network.elements[heldBy];
  const message = holder
    ? say`${name} stays on for good: ${holder.name} (${holder.kind}) holds it, and nothing resets that, whatever the sensors and switches do.`
    : say`${name} keeps itself on: once on, it never goes off again, whatever the sensors and switches do.`;
  return found(neverEnds, holder?.at ?? at, message, { nets: holder ? [net, holder.net] : [net] });
}
