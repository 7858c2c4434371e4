/** Showing a place of the source for the preview: a click takes the cursor there, pointing only marks the place. */
import {
  DecorationRangeBehavior,
  Range,
  Selection,
  TextEditorRevealType,
  ThemeColor,
  Uri,
  ViewColumn,
  window,
  workspace,
  type Disposable,
  type TextDocument,
  type TextEditor,
} from 'vscode';

export interface Place {
  readonly uri: string;
  readonly start: number;
  readonly end: number;
  readonly focus: boolean;
}

export interface Revealer extends Disposable {
  reveal(place: Place, panelColumn: ViewColumn | undefined): Promise<void>;
  showSource(uri: Uri, panelColumn: ViewColumn | undefined): Promise<void>;
}

export function createRevealer(): Revealer {
  const mark = window.createTextEditorDecorationType({
    backgroundColor: new ThemeColor('editor.rangeHighlightBackground'),
    rangeBehavior: DecorationRangeBehavior.ClosedClosed,
  });
  return {
    reveal: async (place, column) => {
      const document = await workspace.openTextDocument(Uri.parse(place.uri, true));
      const range = new Range(document.positionAt(place.start), document.positionAt(place.end));
      if (place.focus) return select(await showBeside(document, column, false), range);
      const editor = visibleEditor(document);
      editor?.setDecorations(mark, [range]);
      editor?.revealRange(range, TextEditorRevealType.InCenterIfOutsideViewport);
    },
    showSource: async (uri, column) => {
      await showBeside(await workspace.openTextDocument(uri), column, false);
    },
    dispose: () => mark.dispose(),
  };

  function select(editor: TextEditor, range: Range): void {
    editor.setDecorations(mark, []);
    editor.selection = new Selection(range.start, range.end);
    editor.revealRange(range, TextEditorRevealType.InCenterIfOutsideViewport);
  }
}

function visibleEditor(document: TextDocument): TextEditor | undefined {
  return window.visibleTextEditors.find((editor) => editor.document === document);
}

/** The editor that shows the document already, else one that does not cover the preview. */
async function showBeside(
  document: TextDocument,
  panel: ViewColumn | undefined,
  preserveFocus: boolean,
): Promise<TextEditor> {
  const viewColumn =
    visibleEditor(document)?.viewColumn ?? (panel === ViewColumn.One ? ViewColumn.Beside : ViewColumn.One);
  return window.showTextDocument(document, { viewColumn, preserveFocus });
}
