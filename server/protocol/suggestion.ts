/** Messages about a suggestion of the tuner. Plain data. */
import type { PreviewModel } from '../core/diagram/preview-model';
import type { SuggestionTable } from '../core/report/tune-report';
import type { EditData } from './by-hand';

/** Client → server request: the best values of what may be chosen in a rig. Answers a `TuneResult`; null where it was cancelled or the text has changed. */
export const TUNE = 'caisson/tune';

export interface TuneParams {
  readonly uri: string;
  /** The first rig where none is named, or none has the name. */
  readonly rig: string | null;
  /** `presets`: every preset that is written may be chosen, too. */
  readonly free: 'ranges' | 'presets';
}

export type TuneResult =
  | {
      readonly kind: 'suggested';
      /** Of the document it was computed from. */
      readonly version: number;
      readonly suggestion: SuggestionData;
      /** Empty where nothing is to be written. */
      readonly edits: readonly EditData[];
    }
  /** Nothing in the rig may be chosen unless every preset may. */
  | { readonly kind: 'nothingFree'; readonly rig: string; readonly message: string }
  | { readonly kind: 'refused'; readonly message: string };

/** A suggestion as the page shows it. */
export interface SuggestionData extends SuggestionTable {
  readonly rig: string;
  /** The rig as suggested, its places those of the text; null where nothing changes. */
  readonly model: PreviewModel | null;
}

/** Command of the client that lens and quick fix call: `[uri, rig name, free?]`. */
export const TUNE_COMMAND = 'caisson.tune';
