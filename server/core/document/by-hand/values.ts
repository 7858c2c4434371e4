/** Constants with a range given other values at once: a what-if over the whole rig, and the edits that write it. */
import { writtenValue } from '../../choose/edit';
import { previewWork, type PreviewModel, type PreviewOptions } from '../../diagram/preview-model';
import type { Source, TextEdit } from '../../model/problem';
import type { DiffGroup, DiffRow } from '../../report/diff';
import { finish, type Work } from '../../work/work';
import type { RigDocument } from '../document';
import { movePlaces } from '../reuse';
import { differencesWork, verdictChangesWork, type VerdictChange } from './hold';
import type { Trial } from './trial';

/** Name of a constant → its value, in µs for times, else in SI units. */
export type Values = Readonly<Record<string, number>>;

export interface Tried {
  readonly model: PreviewModel;
  readonly changes: readonly VerdictChange[];
  readonly differences: readonly DiffRow[];
}

/** The edits that write values of constants with a range; values outside their range, and names without one, are left out. */
export function valueEdits(document: RigDocument, rig: string, values: Values): TextEdit[] {
  const found = document.resolved().rigs.find((r) => r.name === rig);
  return (found?.choosable ?? []).flatMap((choosable) => {
    const { name, value, low, high, valueAt, overridden } = choosable;
    const wanted = Object.hasOwn(values, name) ? values[name]! : value.nominal;
    if (overridden || wanted === value.nominal || wanted < low.nominal || wanted > high.nominal) return [];
    const source = valueAt.uri === document.uri ? document.text : document.readText(valueAt.uri);
    const written = source?.slice(valueAt.start, valueAt.end) ?? '';
    const text = writtenValue(written, wanted, choosable);
    return text === written ? [] : [{ at: valueAt, text }];
  });
}

/** What a comparison of values is about. */
export const TRIED_GROUPS: readonly DiffGroup[] = ['times', 'flow', 'requirements'];

/** Everything that is drawn of a rig with edits made, its places those of the text as it is; null where the text does not stand with them. */
export const tried = (...asked: Parameters<typeof triedWork>): Tried | null => finish(triedWork(...asked));

/** The same in steps. */
export function* triedWork(trial: Trial, edits: readonly TextEdit[], options: PreviewOptions): Work<Tried | null> {
  const before = yield* trial.factsWork([]);
  const facts = yield* trial.factsWork(edits);
  if (!before || !facts) return null;
  const back = (at: Source): Source => placeBefore(at, edits);
  const drawn = yield* previewWork(facts, options);
  const model = edits.length === 0 ? drawn : movePlaces(drawn, back);
  yield;
  const changes = yield* verdictChangesWork(before, facts);
  return { model, changes, differences: yield* differencesWork(before, facts, TRIED_GROUPS) };
}

/** Where a place of the edited text stood before; one inside an edit becomes the whole place that the edit replaced. */
function placeBefore(at: Source, edits: readonly TextEdit[]): Source {
  const shifted = (offset: number): number => {
    let shift = 0;
    for (const { at: old, text } of [...edits].sort((a, b) => a.at.start - b.at.start)) {
      if (old.uri !== at.uri || old.start + shift > offset) continue;
      const end = old.start + shift + text.length;
      if (offset < end) return old.start;
      shift += text.length - (old.end - old.start);
    }
    return offset - shift;
  };
  return { uri: at.uri, start: shifted(at.start), end: shifted(at.end) };
}
