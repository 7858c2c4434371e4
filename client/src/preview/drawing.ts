/** What the page is sent for an answer of the server. Pure. */
import { say } from '../../../server/core/words/say';
import type { HostMessage, PreviewAnswer, PreviewModel, PreviewSettings } from '../../../server/protocol/preview';

export interface Drawing {
  readonly uri: string;
  readonly version: number;
  readonly rigs: readonly PreviewModel[];
}

export interface DrawingInput {
  readonly uri: string;
  /** Name of the file, for the page's heading. */
  readonly file: string;
  readonly answer: PreviewAnswer;
  /** The last sound drawing, of whatever document. */
  readonly lastGood: Drawing | null;
  readonly settings: PreviewSettings;
  readonly locked: boolean;
  /** Whether the caution is still to be shown in this workspace. */
  readonly cautionDue: boolean;
}

export interface DrawingResult {
  readonly messages: readonly HostMessage[];
  readonly lastGood: Drawing | null;
}

/**
 * A sound answer becomes a drawing. Where the text is broken the last drawing of the same document stays and the page learns
 * where the text is broken; without one, the page gets an empty drawing that says the same.
 */
export function messagesFor(input: DrawingInput): DrawingResult {
  const { answer, uri, lastGood } = input;
  const kept = lastGood !== null && lastGood.uri === uri ? lastGood : null;
  if (answer.rigs !== null) {
    const drawing = { uri, version: answer.version, rigs: answer.rigs };
    return { messages: [modelMessage(input, drawing, answer.banner)], lastGood: drawing };
  }
  if (kept === null) {
    const empty = { uri, version: answer.version, rigs: [] };
    return { messages: [modelMessage(input, empty, answer.banner)], lastGood };
  }
  return { messages: [modelMessage(input, kept, null), staleMessage(uri, answer)], lastGood };
}

function modelMessage(input: DrawingInput, drawing: Drawing, banner: PreviewAnswer['banner']): HostMessage {
  const rigs = input.cautionDue ? drawing.rigs : drawing.rigs.map((rig) => ({ ...rig, caution: null }));
  const { uri, version } = drawing;
  return {
    type: 'model',
    uri,
    version,
    file: input.file,
    rigs,
    banner,
    settings: input.settings,
    locked: input.locked,
  };
}

function staleMessage(uri: string, answer: PreviewAnswer): HostMessage {
  return {
    type: 'stale',
    uri,
    version: answer.version,
    message: answer.banner?.message ?? say`The text has errors.`,
    line: answer.banner?.line ?? 1,
    source: answer.banner?.source ?? null,
  };
}
