/**
 * Messages between the extension host and the preview page, and the data a preview is drawn from. All plain data. The host sends
 * models, never markup; the page draws them and answers with what the user did.
 */
import type { PreviewModel } from '../core/diagram/preview-model';
import type { Source } from '../core/model/problem';
import type { ByHandAnswer, ByHandAsk, DifferenceData } from './by-hand';
import type { Explained, ReadingsData } from './readings';
import type { SuggestionData } from './suggestion';

export type { PreviewModel, Source };

export type LookSetting = 'auto' | 'light' | 'dark';

export interface PreviewSettings {
  /** Look of the drawing on screen; `auto` follows the editor. The page's own choice (kept per file) wins. */
  readonly look: LookSetting;
  /** Look of exported and copied pictures. */
  readonly exportLook: 'light' | 'dark' | 'print';
  /** Whether the drawing follows the text cursor: never, on click only, or on every move. */
  readonly follow: 'off' | 'click' | 'cursor';
}

/** What stands above the drawing: an error of the text (last good drawing kept, dimmed) or a plain remark. */
export interface Banner {
  readonly severity: 'error' | 'warning' | 'information';
  readonly message: string;
  /** One-based line in the text; null where none. */
  readonly line: number | null;
  readonly source: Source | null;
}

/** Answer to the request `caisson/preview`. */
export interface PreviewAnswer {
  /** Of the document the answer was computed from. */
  readonly version: number;
  /** What can be drawn; null where errors in the text leave nothing sound to draw: the host then keeps the last drawing, dimmed. */
  readonly rigs: readonly PreviewModel[] | null;
  /** The first error where `rigs` is null (with its line), or a remark about what is drawn. */
  readonly banner: Banner | null;
}

export type PanelTab = 'timing' | 'section' | 'store' | 'wiring';

/** Commands of the editor that act on the page (palette, title bar). */
export type PageCommand =
  | 'fit'
  | 'actualSize'
  | 'zoomIn'
  | 'zoomOut'
  | 'toggleTable'
  | 'togglePlay'
  | 'exportSvg'
  | 'exportPng'
  | 'copySvg'
  | 'copyPng';

export type HostMessage =
  /** A drawing. Ignored by the page when it already has a newer `version` of the same `uri`. `file` is the name to show. */
  | {
      readonly type: 'model';
      readonly uri: string;
      readonly version: number;
      readonly file: string;
      readonly rigs: readonly PreviewModel[];
      readonly banner: Banner | null;
      readonly settings: PreviewSettings;
      /** The preview stays with its file when another is shown. */
      readonly locked: boolean;
    }
  /** The text is broken: keep the last drawing, dimmed, and say where. */
  | {
      readonly type: 'stale';
      readonly uri: string;
      readonly version: number;
      readonly message: string;
      readonly line: number;
      readonly source: Source | null;
    }
  /** The text cursor or selection moved, in UTF-16 offsets; `by` tells apart clicks and keys. */
  | {
      readonly type: 'cursor';
      readonly uri: string;
      readonly start: number;
      readonly end: number;
      readonly by: 'mouse' | 'keyboard' | 'command';
    }
  /** A second variant to lay over the drawing (another file or the last saved version); null takes it away. */
  | {
      readonly type: 'overlay';
      readonly uri: string;
      readonly label: string;
      readonly rigs: readonly PreviewModel[] | null;
      /** What differs from the variant, by rig shown. */
      readonly differences: Readonly<Record<string, readonly DifferenceData[]>>;
    }
  /** What came of what the page asked under this number; null where the text has changed meanwhile. */
  | { readonly type: 'byHand'; readonly id: number; readonly answer: ByHandAnswer | null }
  /** Show this picture of the rig. */
  | { readonly type: 'picture'; readonly uri: string; readonly rig: string; readonly picture: string }
  /** Readings of the built rig, held against the text of this version; null takes them away. `file`: their name. */
  | {
      readonly type: 'readings';
      readonly uri: string;
      readonly version: number;
      readonly file: string;
      readonly readings: ReadingsData | null;
      /** What explained them when last asked; of an earlier version where the text has changed since. */
      readonly explained: Explained | null;
    }
  /** A suggestion of the tuner for the text of this version; null takes it away. */
  | {
      readonly type: 'suggestion';
      readonly uri: string;
      readonly version: number;
      readonly suggestion: SuggestionData | null;
    }
  | { readonly type: 'settings'; readonly settings: PreviewSettings }
  | { readonly type: 'locked'; readonly locked: boolean }
  | { readonly type: 'command'; readonly command: PageCommand };

/** What the page keeps over edits and reloads, per uri. Everything optional: older or broken states are taken as far as they fit. */
export interface ViewState {
  readonly rig?: string;
  readonly tab?: PanelTab;
  /** Index into `timing`. */
  readonly trigger?: number;
  /** Index into `stores`. */
  readonly run?: number;
  /** Shown range of the timing diagram, microseconds; absent: fit. */
  readonly from?: number;
  readonly to?: number;
  /** Time cursor; absent: none. */
  readonly time?: number;
  /** Second cursor, differences are counted from it; absent: none. */
  readonly mark?: number;
  /** Moment of the run of the curves from which the cursors count, where that is another run than the picture's; absent: its start. */
  readonly zero?: number;
  /** Id of the lit lane. */
  readonly lane?: string;
  readonly look?: LookSetting;
  readonly table?: boolean;
  /** Sliders of constants are shown. */
  readonly sliders?: boolean;
  readonly speed?: number;
  readonly scroll?: number;
  /** Zoom and origin of section and wiring, and shown range of the store curves. */
  readonly section?: { readonly zoom: number; readonly x: number; readonly y: number };
  readonly wiring?: { readonly zoom: number; readonly x: number; readonly y: number };
  readonly store?: { readonly from: number; readonly to: number };
}

/** The argument of `setState`/`getState`: the host's panel serializer reads `uri` and `locked` from it; the rest is the page's. */
export interface SavedState {
  readonly uri: string;
  readonly locked: boolean;
  readonly views: Readonly<Record<string, ViewState>>;
  /** Uris whose caution has been shown. */
  readonly cautioned: readonly string[];
}

export type PageMessage =
  /** The page listens; `state` is what it had kept (null on a first opening). The host answers with a model. */
  | { readonly type: 'ready'; readonly state: SavedState | null }
  /** Show this place in the source; `focus`: move the keyboard there too (a click does, pointing does not). */
  | {
      readonly type: 'reveal';
      readonly uri: string;
      readonly start: number;
      readonly end: number;
      readonly focus: boolean;
    }
  | { readonly type: 'state'; readonly state: SavedState }
  /** Whether models should come with their curves (`stores`) from now on; on a change to true the host sends the model again. */
  | { readonly type: 'want'; readonly stores: boolean }
  /** Write a picture beside the source. `svg`: text; `png`: base64. `name`: proposed file name without folder. */
  | { readonly type: 'export'; readonly format: 'svg' | 'png'; readonly name: string; readonly data: string }
  /** Put text on the clipboard (SVG text, or the table); pictures the page copies itself and reports with `copied`. */
  | { readonly type: 'copy'; readonly what: 'svg' | 'table'; readonly text: string }
  | { readonly type: 'copied'; readonly what: 'png' }
  | { readonly type: 'lock'; readonly locked: boolean }
  | { readonly type: 'showSource' }
  /** Asks about values set by hand, of a rig of the version drawn; `keep` and `write` also change the text. */
  | {
      readonly type: 'byHand';
      readonly id: number;
      readonly version: number;
      readonly rig: string;
      readonly ask: ByHandAsk;
    }
  /** Write the suggestion that is shown into the text, or leave it. */
  | { readonly type: 'suggestion'; readonly action: 'write' | 'leave' }
  /** Pick readings, take them away, or explain them. */
  | { readonly type: 'readings'; readonly action: 'choose' | 'remove' | 'diagnose' }
  /** Pick or drop a second variant. */
  | { readonly type: 'overlay'; readonly action: 'choose' | 'saved' | 'remove' }
  /** Our own fault, for the log channel; never shown as a pop-up. */
  | { readonly type: 'fault'; readonly message: string };
