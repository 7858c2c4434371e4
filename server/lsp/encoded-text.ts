/**
 * Texts whose positions count in the units that the client asked for: UTF-16 (what the program counts in itself), UTF-8 bytes or
 * UTF-32 code points. Everything else in the server uses offsets and never sees the difference.
 */
import type { PositionEncodingKind, TextDocumentContentChangeEvent } from 'vscode-languageserver';
import { TextDocument } from 'vscode-languageserver-textdocument';

export type Encoding = 'utf-8' | 'utf-16' | 'utf-32';
const KNOWN: readonly Encoding[] = ['utf-8', 'utf-16', 'utf-32'];

/** The client's first choice among the encodings that are known here; UTF-16 where it names none. */
export function encodingFor(offered: readonly PositionEncodingKind[] | undefined): Encoding {
  return (Array.isArray(offered) ? offered : []).flatMap((o) => KNOWN.find((k) => k === o) ?? [])[0] ?? 'utf-16';
}

/** A document of the given encoding. */
export function createText(
  uri: string,
  version: number,
  content: string,
  encoding: Encoding,
  languageId = 'rig',
): TextDocument {
  const plain = TextDocument.create(uri, languageId, version, content);
  return encoding === 'utf-16' ? plain : new EncodedText(plain, encoding);
}

/** How documents that the editor sends are made and changed. */
export function textDocuments(encoding: () => Encoding) {
  return {
    create: (uri: string, languageId: string, version: number, content: string): TextDocument =>
      createText(uri, version, content, encoding(), languageId),
    update: (document: TextDocument, changes: TextDocumentContentChangeEvent[], version: number): TextDocument =>
      document instanceof EncodedText
        ? document.changed(changes, version)
        : TextDocument.update(document, changes, version),
  };
}

class EncodedText implements TextDocument {
  constructor(
    private plain: TextDocument,
    readonly encoding: 'utf-8' | 'utf-32',
  ) {}

  get uri(): string {
    return this.plain.uri;
  }
  get languageId(): string {
    return this.plain.languageId;
  }
  get version(): number {
    return this.plain.version;
  }
  get lineCount(): number {
    return this.plain.lineCount;
  }

  getLineRange(line: number): ReturnType<TextDocument['getLineRange']> {
    const { start, end } = this.plain.getLineRange(line);
    const at = (position: typeof start) => this.positionAt(this.plain.offsetAt(position));
    return { start: at(start), end: at(end) };
  }

  getEOLCharacters(line: number): string {
    return this.plain.getEOLCharacters(line);
  }

  getText(range?: Parameters<TextDocument['getText']>[0]): string {
    const text = this.plain.getText();
    return range ? text.slice(this.offsetAt(range.start), this.offsetAt(range.end)) : text;
  }

  positionAt(offset: number): ReturnType<TextDocument['positionAt']> {
    const { line, character } = this.plain.positionAt(offset);
    const start = this.plain.offsetAt({ line, character: 0 });
    const before = this.plain.getText().slice(start, start + character);
    return { line, character: unitsOf(before, this.encoding) };
  }

  offsetAt({ line, character }: Parameters<TextDocument['offsetAt']>[0]): number {
    if (line < 0) return 0;
    const start = this.plain.offsetAt({ line, character: 0 });
    const end = this.plain.offsetAt({ line, character: Number.MAX_SAFE_INTEGER });
    let units = 0;
    let offset = start;
    for (const sign of this.plain.getText().slice(start, end)) {
      units += unitsOf(sign, this.encoding);
      if (units > character) break;
      offset += sign.length;
    }
    return offset;
  }

  /** The text after changes, each of which counts from the result of those before. */
  changed(changes: readonly TextDocumentContentChangeEvent[], version: number): TextDocument {
    for (const change of changes) {
      const text = this.plain.getText();
      if (!('range' in change)) {
        this.plain = TextDocument.update(this.plain, [change], version);
        continue;
      }
      const [a, b] = [this.offsetAt(change.range.start), this.offsetAt(change.range.end)];
      const whole = text.slice(0, Math.min(a, b)) + change.text + text.slice(Math.max(a, b));
      this.plain = TextDocument.update(this.plain, [{ text: whole }], version);
    }
    return this;
  }
}

/** The length of a text in the units of an encoding. Half of a surrogate pair counts as the replacement character would. */
function unitsOf(text: string, encoding: 'utf-8' | 'utf-32'): number {
  let units = 0;
  for (const sign of text) {
    const code = sign.codePointAt(0)!;
    units += encoding === 'utf-32' || code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
  }
  return units;
}
