/** Messages about values set by hand on the picture: edges that are held, constants that are tried, suggestions that are taken. Plain data. */
import type { HeldBack } from '../core/choose/by-hand';
import type { Beyond } from '../core/document/by-hand/hold';
import type { WorstChange } from '../core/document/by-hand/worst';
import type { PreviewModel } from '../core/diagram/preview-model';
import type { TimingModel } from '../core/diagram/timing/model';
import type { DiffGroup } from '../core/report/diff';

/** Client → server request. Answers a `ByHandAnswer`; null where the text is no longer of that version or there is nothing to answer. */
export const BY_HAND = 'caisson/byHand';

/** An edge of a picture, by the ids that the drawing has. */
export interface EdgeName {
  readonly picture: string;
  readonly edge: string;
}

/** What the page asks; the host adds the document. */
export type ByHandAsk =
  /** Which values move this edge? */
  | ({ readonly ask: 'take' } & EdgeName)
  /** Where do requirements end while the value with this index is moved? */
  | ({ readonly ask: 'stops'; readonly choice: number } & EdgeName)
  /** What follows where the edge is brought to `t`? */
  | ({ readonly ask: 'move'; readonly choice: number; readonly t: number } & EdgeName)
  /** What becomes of the requirements there within tolerance? Given up where anything else is asked meanwhile. */
  | ({ readonly ask: 'worst'; readonly choice: number; readonly t: number } & EdgeName)
  /** The picture there, with the earliest and latest moment of each edge. Given up as the one before. */
  | ({ readonly ask: 'ghosts'; readonly choice: number; readonly t: number } & EdgeName)
  /** Where do requirements end within tolerance while the value with this index is moved? */
  | ({ readonly ask: 'worst stops'; readonly choice: number } & EdgeName)
  /** The edit that keeps it there. */
  | ({ readonly ask: 'keep'; readonly choice: number; readonly t: number } & EdgeName)
  /** The whole rig with other values of its constants (µs, or SI units). */
  | { readonly ask: 'try'; readonly values: Readonly<Record<string, number>>; readonly stores: boolean }
  /** The edits that write those values. */
  | { readonly ask: 'write'; readonly values: Readonly<Record<string, number>> };

export type ByHandParams = ByHandAsk & { readonly uri: string; readonly version: number; readonly rig: string };

export interface ChoiceData {
  /** `settle`, `time of upper_on` */
  readonly label: string;
  /** As written: `1.8 s`. */
  readonly text: string;
  readonly slope: number;
}

export interface StopData {
  readonly t: number;
  /** The requirement that ends (or begins) to hold there. */
  readonly text: string;
  readonly beyond: Beyond;
}

export interface ChangeData {
  readonly text: string;
  readonly now: 'met' | 'failed' | 'open';
  readonly found: string;
}

/** One difference from the text as it is, in words: `upper is shut after ready goes on`, `2.35 s`, `2.55 s`, `+200 ms`. */
export interface DifferenceData {
  readonly group: DiffGroup;
  readonly what: string;
  /** Null where there was, or is, none. */
  readonly old: string | null;
  readonly now: string | null;
  readonly change: string;
}

export interface EditData {
  readonly uri: string;
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

export type ByHandAnswer =
  /** `why`: there are none, for a reason that is not about the edge. */
  | {
      readonly kind: 'choices';
      readonly choices: readonly ChoiceData[];
      readonly why: string | null;
      /** The rig states tolerances. */
      readonly isLoose: boolean;
    }
  | { readonly kind: 'stops'; readonly stops: readonly StopData[] }
  | {
      readonly kind: 'moved';
      /** Where the edge stands; what was wanted, or as near as it comes. */
      readonly t: number;
      readonly held: HeldBack | null;
      /** The value as it would be written. */
      readonly text: string;
      readonly timing: TimingModel;
      readonly changes: readonly ChangeData[];
      readonly differences: readonly DifferenceData[];
    }
  | { readonly kind: 'worst'; readonly kept: number; readonly of: number; readonly changes: readonly WorstChange[] }
  | { readonly kind: 'ghosts'; readonly timing: TimingModel }
  | {
      readonly kind: 'tried';
      readonly model: PreviewModel;
      readonly changes: readonly ChangeData[];
      readonly differences: readonly DifferenceData[];
    }
  | { readonly kind: 'edits'; readonly edits: readonly EditData[]; readonly text: string };
