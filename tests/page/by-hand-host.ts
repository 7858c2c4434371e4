/** A host for the page that answers about values set by hand from the real core, and applies the edits to a text of its own. */
import { previewModel, type PreviewModel } from '../../server/core/diagram/preview-model';
import { applyEdits } from '../../server/core/document/apply-edits';
import { caution } from '../../server/core/report/caution';
import { createDocument, type RigDocument } from '../../server/core/document/document';
import { byHand, byHandUrgency } from '../../server/lsp/by-hand';
import { tuneWork } from '../../server/lsp/tune';
import { createTurns } from '../../server/lsp/turns';
import { finish } from '../../server/core/work/work';
import type { HostMessage, PageMessage } from '../../server/protocol/preview';
import type { SuggestionData } from '../../server/protocol/suggestion';
import { modelMessage, URI, type PreviewPage } from './harness';

export interface TextHost {
  readonly document: RigDocument;
  /** Texts before each edit, the first one first. */
  readonly undo: readonly string[];
  answer(message: PageMessage): Promise<HostMessage | null>;
  /** Sends the drawing of the text as it is. */
  draw(preview: PreviewPage, stores?: 'shown' | 'hidden', version?: number): Promise<void>;
}

/** The turns of a server that nobody else asks. */
const turns = createTurns(
  { pause: () => new Promise<void>((done) => setTimeout(done)), now: () => performance.now() },
  () => 0,
);

/** What the server suggests for the first rig of a text, its ranges free. */
export async function suggestionFor(text: string): Promise<SuggestionData> {
  const document = createDocument({ uri: URI, version: 1, text }, () => undefined);
  const opened = { document, settings: { constants: {} } } as unknown as Parameters<typeof tuneWork>[0];
  const found = finish(tuneWork(opened, { uri: URI, rig: null, free: 'ranges' }));
  if (found.kind !== 'suggested') throw new Error('no suggestion');
  return found.suggestion;
}

export function textHost(text: string): TextHost {
  const undo: string[] = [];
  const open = (version: number, content: string): RigDocument =>
    createDocument({ uri: URI, version, text: content }, () => undefined);
  let document = open(1, text);
  const models = (stores: 'shown' | 'hidden'): PreviewModel[] =>
    document.analysed().map((facts) => previewModel(facts, { caution: caution(), stores }));
  return {
    get document() {
      return document;
    },
    undo,
    async answer(message) {
      if (message.type !== 'byHand') return null;
      const { id, version, rig, ask } = message;
      const opened = { document, settings: { constants: {} } } as unknown as Parameters<typeof byHand>[0];
      const params = { ...ask, uri: URI, version, rig };
      const found = await turns.run(byHand(opened, params), byHandUrgency(params), () => false);
      const answer = found && found.value;
      if (answer?.kind === 'edits' && answer.edits.length > 0) {
        const edits = answer.edits.map(({ uri, start, end, text: replacement }) => ({
          at: { uri, start, end },
          text: replacement,
        }));
        const applied = applyEdits(edits, () => document.text);
        if (!applied.ok) return { type: 'byHand', id, answer: null };
        undo.push(document.text);
        document = open(document.version + 1, applied.texts.get(URI)!);
      }
      return { type: 'byHand', id, answer };
    },
    draw: (preview, stores = 'hidden', version = document.version) =>
      preview.send(modelMessage(models(stores), { version })),
  };
}
