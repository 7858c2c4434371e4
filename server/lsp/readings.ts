/** Readings of the built rig for the editor: held against the rig of a document, and explained. */
import type { RigDocument } from '../core/document/document';
import { isIncomplete } from '../core/features/lookup';
import { compareWork } from '../core/readings/compare';
import { diagnoseWork } from '../core/readings/diagnose';
import { placesWork } from '../core/readings/change-place';
import type { RigLog } from '../core/readings/log';
import { readLogWork } from '../core/readings/log-csv';
import { stimulusWork } from '../core/readings/stimulus';
import { unitQuestion } from '../core/readings/unit-question';
import { comparedPictures, diagnosisData } from '../core/report/readings-pictures';
import type { RigFacts } from '../core/run/facts';
import type { Work } from '../core/work/work';
import type { ReadingsParams, ReadingsResult } from '../protocol/readings';
import { say } from '../core/words/say';
import { noStroke } from '../core/timing/no-stroke';

/** Needs the times computed; in steps, as every candidate of a diagnosis is followed. */
export function* readingsWork(document: RigDocument, params: ReadingsParams): Work<ReadingsResult> {
  const all = document.analysed().filter((facts) => !isIncomplete(facts.rig));
  if (all.length === 0) return refused(say`There is no rig in this file that the readings could be held against.`);
  const found = yield* rigOf(all, params.text);
  if (typeof found === 'string') return refused(found);
  const { facts, log: read } = found;
  const { rig } = facts;
  yield;
  const question = unitQuestion(rig, read);
  if (question !== null) return refused(question);
  const scenario = rig.scenarios.find((s) => s.name === params.scenario) ?? null;
  const stimulus = yield* stimulusWork(rig, facts.timing, read, scenario);
  if (!stimulus) {
    const none = say`Nothing starts a stroke of ${rig.name}, so no edge is expected of it.`;
    return refused(noStroke(rig.name, facts.timing, none));
  }
  yield;
  const log = yield* placesWork(facts, read, stimulus);
  yield;
  const compared = yield* compareWork(facts, log, stimulus);
  yield;
  const pictures = comparedPictures(facts, log, stimulus, compared);
  yield;
  return {
    kind: 'compared',
    version: document.version,
    readings: {
      rig: rig.name,
      scenarios: rig.scenarios.map((s) => s.name),
      ...pictures,
      diagnosis: params.about === 'diagnose' ? diagnosisData(yield* diagnoseWork(rig, log, stimulus)) : null,
    },
  };
}

const refused = (message: string): ReadingsResult => ({ kind: 'refused', message });

/** The first rig that the log has a door or a signal of; else why not, in the words for the first rig. */
function* rigOf(all: readonly RigFacts[], text: string): Work<{ facts: RigFacts; log: RigLog } | string> {
  let why: string | null = null;
  for (const facts of all) {
    const reading = yield* readLogWork(facts.rig, text);
    if (reading.ok && reading.log.doors.length + reading.log.states.length > 0) return { facts, log: reading.log };
    const [first] = reading.ok ? [] : reading.problems;
    why ??= first
      ? say`Line ${first.line} of the readings: ${first.message}`
      : say`The readings have no column of a door or of a signal of ${facts.rig.name}.`;
  }
  return why!;
}
