/** Documents for the tests of the editor's features. */
import { cursorFixture } from '../support/fixture';
import type { RigDocument } from '../../server/core/document/document';
import { createDocument } from '../../server/core/document/document';

export const URI = 'file:///rigs/test.rig';

/** A document of this text; `files` are other files by name in the same folder. */
export function documentOf(text: string, files: Readonly<Record<string, string>> = {}): RigDocument {
  return createDocument({ uri: URI, version: 1, text }, (uri) => files[uri.replace('file:///rigs/', '')]);
}

/** A document of another file of the same folder. */
export function otherDocument(name: string, files: Readonly<Record<string, string>>): RigDocument {
  const uri = `file:///rigs/${name}`;
  return createDocument({ uri, version: 1, text: files[name]! }, (u) => files[u.replace('file:///rigs/', '')]);
}

/** A document and the place of its `<|>`. */
export function atCursor(
  marked: string,
  files: Readonly<Record<string, string>> = {},
): { document: RigDocument; offset: number; text: string } {
  const { text, offset } = cursorFixture(marked);
  return { document: documentOf(text, files), offset, text };
}

/** The text with edits taken. */
export function withEdits(
  text: string,
  edits: readonly { readonly start: number; readonly end: number; readonly text: string }[],
): string {
  return [...edits]
    .sort((a, b) => b.start - a.start)
    .reduce((t, e) => t.slice(0, e.start) + e.text + t.slice(e.end), text);
}

/** A grain lift: one scanned-free gas line with two doors, times worked by hand in the tests that use it. */
export const LIFT = `rig grain_lift "Grain lift" {
  medium air
  let dwell = 2 s
  chamber hopper { volume 4 m3  pressure 1.3 bar }
  chamber bin { volume 500 L  pressure 1.02 bar }
  # The upper lock.
  door inlet { pocket 60 L  travel 400 ms }
  door outlet { pocket 60 L  travel 400 ms }
  stack hopper > inlet > outlet > bin
  controller { response 50 ms }
  switch run = on
  sensor full on hopper { pressure above 1.5 bar  clears below 1.2 bar }
  signal start = run and full and not hold
  signal inlet_on = TP(start, dwell)
  signal outlet_on = TOF(TON(inlet_on, 1 s), 3 s)
  signal hold = TOF(inlet_on, 12 s)
  drive inlet = inlet_on
  drive outlet = outlet_on
  require overlap(inlet, outlet) >= 100 ms
  require repeat() in 10 s .. 20 s
}
`;
