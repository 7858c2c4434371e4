/** What is kept over reloads: the views of files, and whose caution was read. Written shortly after a change, at once where asked. */
import type { SavedState, ViewState } from '../../server/protocol/preview';
import type { EditorApi } from './app';
import { withView } from './saved';
import type { Session } from './session';

export interface Memory {
  keep(): void;
  keepNow(): void;
  viewOf(uri: string): ViewState;
  cautioned(): boolean;
  dismissCaution(): void;
}

export function createMemory(editor: EditorApi, saved: SavedState | null, session: () => Session): Memory {
  let views = saved?.views ?? {};
  let cautioned = saved?.cautioned ?? [];
  let timer: ReturnType<typeof setTimeout> | null = null;

  function keepNow(): void {
    const { model, view, locked } = session();
    if (!model) return;
    views = withView(views, model.uri, view);
    const state = { uri: model.uri, locked, views, cautioned };
    editor.setState(state);
    editor.postMessage({ type: 'state', state });
  }

  function keep(): void {
    timer ??= setTimeout(() => {
      timer = null;
      keepNow();
    }, 150);
  }

  return {
    keep,
    keepNow,
    viewOf: (uri) => views[uri] ?? {},
    cautioned: () => cautioned.includes(session().model?.uri ?? ''),
    dismissCaution() {
      const { model } = session();
      if (model) cautioned = [...cautioned.slice(-99), model.uri];
      keep();
    },
  };
}
