/**
 * Names and shapes of the messages that are ours, beside the language server protocol. Positions are UTF-16 offsets into the
 * text of the named version. The preview's own data stands in `preview.ts`.
 */
import type { VerdictState } from '../core/metrics/verdict';
import type { ProofJson } from '../core/report/proof-report';
import type { DifferenceData } from './by-hand';

/** Server → client request: the text of a file the server cannot read itself (virtual file systems, browser). */
export const READ_FILE = 'caisson/readFile';
export interface ReadFileParams {
  readonly uri: string;
}
export interface ReadFileResult {
  /** Null where there is no such file, or it is refused. */
  readonly text: string | null;
  /** Why it is refused: a clause to stand after its name. */
  readonly reason?: string;
}

/** Server → client request: the `.rig` files of the open folders, where the server cannot list them itself. */
export const LIST_FILES = 'caisson/listFiles';
export interface ListFilesResult {
  readonly uris: readonly string[];
}

/** What a client tells about itself in `initializationOptions`; every field may be absent. */
export interface InitializationOptions {
  /** The client answers `caisson/readFile` and `caisson/listFiles`. */
  readonly files?: boolean;
  /** The client has the command `caisson.openPreview` that lenses call; without it lenses have no command. */
  readonly preview?: boolean;
  /** URI of the language reference as the client can open it; problem codes link into it. */
  readonly reference?: string;
  /** False while the workspace is not trusted: then only files inside it are read. Trusted where absent. */
  readonly trusted?: boolean;
  /** Texts in the language of the editor by their English (`server/core/words/say.ts`); absent for English. */
  readonly words?: Readonly<Record<string, string>>;
  /** Settings for clients without `workspace/configuration`. */
  readonly settings?: unknown;
}

/** Client → server notification: the workspace is trusted from now on. No parameters. */
export const TRUSTED = 'caisson/trusted';

/** Client → server request: what the preview shows of a document. Answers a `PreviewAnswer` or null. */
export const PREVIEW = 'caisson/preview';
export interface PreviewParams {
  readonly uri: string;
  /** The curves of the store panel are wanted too; they take longer to compute. */
  readonly stores?: boolean;
}

/** Server → client notification: ask for the preview again, something it shows has changed. */
export const PREVIEW_CHANGED = 'caisson/previewChanged';
export interface PreviewChangedParams {
  readonly uri: string;
  readonly version: number;
}

/** Client → server request: what differs between two documents, rig by rig of the second. Answers a `DifferencesAnswer` or null. */
export const DIFFERENCES = 'caisson/differences';
export interface DifferencesParams {
  /** The document shown, and the one it is compared with. */
  readonly uri: string;
  readonly other: string;
}
/** By name of the rig shown; a rig without a partner is compared with the first. */
export type DifferencesAnswer = Readonly<Record<string, readonly DifferenceData[]>>;

/** Server → client notification: show this picture of a rig in its preview. */
export const SHOW_PICTURE = 'caisson/showPicture';
export interface ShowPictureParams {
  readonly uri: string;
  readonly rig: string;
  /** Id of a timing model. */
  readonly picture: string;
}

/** Client → server request: the requirements of a document for the test view. Answers a `TestsResult` or null. */
export const TESTS = 'rig/tests';
export interface TestsParams {
  readonly uri: string;
}

/** A rig with its requirements. Offsets into the text of `version`. */
export interface TestRig {
  readonly name: string;
  readonly start: number;
  readonly end: number;
  readonly requirements: readonly TestRequirement[];
}
export interface TestRequirement {
  /** Stable while the statement's text stays: `RIG/TEXT`, with `#2` … for repeated texts. */
  readonly id: string;
  readonly label: string;
  readonly start: number;
  readonly end: number;
  /** Only `met` is a pass. */
  readonly verdict: VerdictState;
  /** One sentence with what was required and what was found. */
  readonly message: string;
  /** What was found and how much it has to spare: `310 ms, 210 ms to spare`. */
  readonly value: string;
  /** Places responsible. */
  readonly related: readonly {
    readonly uri: string;
    readonly start: number;
    readonly end: number;
    readonly message: string;
  }[];
}
export interface TestsResult {
  readonly version: number;
  readonly rigs: readonly TestRig[];
}

/** Commands of the server (`workspace/executeCommand`). All take the document's URI first. */
export const COMMANDS = {
  /** `[uri]` → the facts of `caisson timing --json`. */
  timing: 'caisson.timing',
  /** `[uri, rig name?, look?]` → SVG text. */
  diagram: 'caisson.diagram',
  /** `[uri, rig name?]` → `ProofAnswer`; counter-examples also become problems and pictures of the preview. */
  prove: 'caisson.prove',
} as const;

/** Third argument of `caisson.prove` where a person started it: the summary is then also shown in the client's window. */
export const TELL = 'tell';

/** What `caisson.prove` answers. */
export interface ProofAnswer {
  /** `quay_lock: 4 proved, 1 refuted, 0 undecided.` */
  readonly summary: string;
  /** Lines as `caisson prove` prints them. */
  readonly report: readonly string[];
  readonly result: ProofJson;
  readonly caution: string;
}

/** Command of the client that a lens calls: `[uri, rig name]`. */
export const OPEN_PREVIEW_COMMAND = 'caisson.openPreview';

/** Command of the client that a quick fix calls: `[uri, rig name, picture id]`. */
export const SHOW_PICTURE_COMMAND = 'caisson.showPicture';

/** Semantic token types of the server, in the order of its legend; each with the standard type it falls back to. */
export const TOKEN_TYPES = [
  { name: 'keyword', standard: true, doc: 'keyword of a statement' },
  { name: 'property', standard: true, doc: 'property in braces' },
  { name: 'function', standard: true, doc: 'standard function block or metric' },
  { name: 'number', standard: true, doc: 'number' },
  { name: 'unit', standard: false, superType: 'type', doc: 'unit of a quantity' },
  { name: 'string', standard: true, doc: 'text in quotes' },
  { name: 'comment', standard: true, doc: 'comment' },
  { name: 'operator', standard: true, doc: 'operator' },
  { name: 'namespace', standard: true, doc: 'rig, part or placed part' },
  { name: 'chamber', standard: false, superType: 'class', doc: 'chamber' },
  { name: 'door', standard: false, superType: 'class', doc: 'door' },
  { name: 'flowLine', standard: false, superType: 'class', doc: 'feed or draw' },
  { name: 'input', standard: false, superType: 'parameter', doc: 'switch or sensor' },
  { name: 'signal', standard: false, superType: 'variable', doc: 'signal' },
  { name: 'constant', standard: false, superType: 'variable', doc: 'constant, medium or parameter' },
  { name: 'event', standard: true, doc: 'sequence or scenario' },
  { name: 'unknownName', standard: false, superType: 'variable', doc: 'name that nothing declares' },
] as const;

/** Semantic token modifiers, in the order of the legend. */
export const TOKEN_MODIFIERS = ['declaration', 'readonly', 'modification'] as const;
