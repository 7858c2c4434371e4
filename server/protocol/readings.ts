/** Messages about readings of the built rig that are laid over its pictures. Plain data. */
import type { ComparedPictures } from '../core/report/readings-pictures';

/** Client → server request: a log held against a rig. Answers a `ReadingsResult`; null where there is no such document. */
export const READINGS = 'caisson/readings';

export interface ReadingsParams {
  readonly uri: string;
  /** The log, as CSV. */
  readonly text: string;
  /** The scenario that was run; null: what the readings themselves suggest. */
  readonly scenario: string | null;
  /** `diagnose`: also which single fault or changed time explains them best. */
  readonly about: 'compare' | 'diagnose';
}

export type ReadingsResult =
  | { readonly kind: 'compared'; readonly version: number; readonly readings: ReadingsData }
  /** One sentence. */
  | { readonly kind: 'refused'; readonly message: string };

export interface ReadingsData extends ComparedPictures {
  readonly rig: string;
  /** Scenarios of the rig, any of which may be what was run. */
  readonly scenarios: readonly string[];
  readonly diagnosis: DiagnosisData | null;
}

/** A diagnosis with the version of the text that it was asked for. */
export interface Explained {
  readonly version: number;
  readonly diagnosis: DiagnosisData;
}

export interface DiagnosisData {
  readonly summary: string;
  /** Most likely first: `97.1 %`, `wire of lower broken, or …`. */
  readonly ranking: readonly { readonly share: string; readonly what: string }[];
  /** Where to look next, and what each observation there would leave; null where there is nothing to distinguish. */
  readonly next: {
    readonly look: string;
    readonly outcomes: readonly { readonly seen: string; readonly leaves: string }[];
  } | null;
}
