/** The command that starts a new rig: an untitled document that is sound from the first line, to be changed and saved. */
import { SnippetString, window, workspace } from 'vscode';
import { BENCH_RIG } from '../../server/core/report/bench-rig';

/** Places to fill in, in the order in which one would think of them: each piece of the text, and what stands there first. */
const PLACES: readonly (readonly [piece: string, first: string])[] = [
  ['rig bench ', 'bench'],
  ['"Bench rig, compressed air"', 'Bench rig, compressed air'],
  ['volume 200 L', '200 L'],
  ['travel 200 ms', '200 ms'],
  ['TOF(start, 1 s)', '1 s'],
  ['TOF(start, 1.9 s)', '1.9 s'],
  ['TOF(middle_on, 3.5 s)', '3.5 s'],
];

/** The text of `caisson new bench` as a snippet; a place that stands several times is filled in once for all. */
export const NEW_RIG = PLACES.reduce(
  (text, [piece, first], i) => text.replaceAll(piece, piece.replace(first, `\${${i + 1}:${first}}`)),
  BENCH_RIG.replace(/[$\\]/g, '\\$&'),
);

export async function newRig(): Promise<void> {
  const document = await workspace.openTextDocument({ language: 'rig', content: '' });
  // Not in the place of a page that is looked at for the moment only, such as the walkthrough.
  const editor = await window.showTextDocument(document, { preview: false });
  await editor.insertSnippet(new SnippetString(NEW_RIG));
}
