/** A suggestion of the tuner for the editor. */
import { createTrial } from '../core/document/by-hand/trial';
import { triedWork } from '../core/document/by-hand/values';
import { parseOverrides } from '../core/document/overrides';
import { suggestWork } from '../core/document/tune';
import { reasonsOf } from '../core/choose/tune/reasons';
import { caution } from '../core/report/caution';
import type { Source } from '../core/model/problem';
import { suggestionTable } from '../core/report/tune-report';
import { seededRandom } from '../core/timing/tolerance';
import type { Work } from '../core/work/work';
import type { TuneParams, TuneResult } from '../protocol/suggestion';
import type { Opened } from './workspace';
import { say } from '../core/words/say';

/** As `caisson tune` without options. */
const OPTIONS = { starts: 12, runs: 4000, trials: 300, states: 20_000, random: () => seededRandom(1) } as const;
const STEP = 10_000;

/** In steps; needs the text resolved. */
export function* tuneWork({ document, text, settings }: Opened, params: TuneParams): Work<TuneResult> {
  const { rigs } = document.resolved();
  const index = Math.max(
    0,
    rigs.findIndex((r) => r.name === params.rig),
  );
  const rig = rigs[index];
  if (!rig) return { kind: 'refused', message: say`There is no rig in this file.` };
  const overrides = parseOverrides(document.uri, settings.constants).expressions;
  const free = { free: [], allPresets: params.free === 'presets', step: STEP, overrides };
  const suggestion = yield* suggestWork(document, index, free, OPTIONS);
  if (!suggestion.ok) {
    const { message, nothingFree } = suggestion;
    if (nothingFree && params.free === 'ranges') return { kind: 'nothingFree', rig: rig.name, message };
    return { kind: 'refused', message };
  }
  const { answer, edits, problem } = suggestion;
  const lineOf = ({ uri, start }: Source): number | null =>
    uri === document.uri ? text.positionAt(start).line + 1 : null;
  const table = suggestionTable(answer, yield* reasonsOf(problem, answer), lineOf);
  const trial = edits.length > 0 ? createTrial(document, rig.name, { constants: settings.constants }) : null;
  const model = trial && ((yield* triedWork(trial, edits, { caution: caution() }))?.model ?? null);
  return {
    kind: 'suggested',
    version: document.version,
    suggestion: { rig: rig.name, ...table, model },
    edits: edits.map(({ at, text }) => ({ ...at, text })),
  };
}
