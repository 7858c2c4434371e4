/** Messages about the build sheet of a rig. Plain data. */

/** Client → server request: the build sheet of a rig as Markdown. Answers a `SheetResult`; null where there is no such document. */
export const SHEET = 'caisson/sheet';

export interface SheetParams {
  readonly uri: string;
  /** The first rig where none is named, or none has the name. */
  readonly rig: string | null;
}

export type SheetResult =
  | { readonly kind: 'sheet'; readonly rig: string; readonly markdown: string }
  /** Why there is none, in one sentence. */
  | { readonly kind: 'refused'; readonly message: string };
