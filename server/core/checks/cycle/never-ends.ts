/** `cycle/never-ends`: doors that go on moving with no trigger, or after it has gone. */
import { listText } from '../../timing/words';
import type { Problem } from '../../model/problem';
import { inputsOfRig } from '../../model/logic';
import type { Rig } from '../../model/rig';
import type { RigFacts } from '../../run/facts';
import type { StrokeFacts } from '../../timing/facts';
import { type Check, type CheckContext, found } from '../check';
import type { Trial } from '../repair/trial';
import { restBefore, settledRig, turn } from '../repair/trial';
import { say } from '../../words/say';

export const neverEnds: Check = {
  code: 'cycle/never-ends',
  title: 'Keeps going without its trigger',
  severity: 'warning',
  explanation:
    'Doors keep opening and closing although no sensor calls for it: with every input as at the start, or after the trigger has come and gone. Where a manual switch stops it, it may be meant (a stand that runs as long as its switch is on) and is information; where nothing stops it, it is a warning. A rig whose sensor is on from the start, and which stops when that sensor goes off, simply has its trigger already.',
  run(context) {
    const { rig, facts } = context;
    const { strokes, atRest } = facts.timing;
    if (atRest.loop || facts.timing.incomplete !== null) return [];
    if (strokes.every((s) => s.trigger.kind === 'power')) return atRest.moves ? atRestProblem(context) : [];
    const running = strokes.filter((stroke) => {
      const { quiet, engine } = afterTrigger(facts, stroke);
      // A loop that never settles ends the experiment; it is reported by itself.
      return !quiet && engine.stopped?.reason !== 'loop';
    });
    return running
      .slice(0, 1)
      .map((stroke) =>
        problemOf(rig, afterTrigger(facts, stroke), say`after ${stroke.trigger.name} has come and gone`),
      );
  },
};

function afterTrigger(facts: RigFacts, stroke: StrokeFacts): Trial {
  const { net } = stroke.trigger;
  const before = restBefore(facts, stroke);
  return before.quiet ? turn(turn(before, net), net) : { ...before, quiet: true };
}

function atRestProblem({ rig, facts }: CheckContext): Problem[] {
  const trial = settledRig(facts);
  return trial.quiet || trial.engine.stopped ? [] : [problemOf(rig, trial, say`although no sensor has changed`)];
}

function problemOf(rig: Rig, trial: Trial, when: string): Problem {
  const names = trial.moving.map((door) => rig.doors[door]!.name);
  const state = trial.engine.snapshot();
  const stop = inputsOfRig(rig).find((input) => {
    trial.engine.restore(state);
    return turn(trial, input.net).quiet;
  });
  const end = stop ? say`only ${stop.name} stops it` : say`no switch or sensor stops it`;
  const what =
    names.length === 0
      ? say`The control network goes on switching`
      : names.length > 1
        ? `${listText(names)} go on opening and closing`
        : say`${names[0]!} goes on opening and closing`;
  return found(
    neverEnds,
    rig.doors[trial.moving[0] ?? -1]?.at ?? rig.at,
    say`${what} ${when}; ${end}.`,
    { doors: trial.moving },
    {
      severity: stop ? 'information' : neverEnds.severity,
    },
  );
}
