/** What the preview page may ask: its messages come over a channel without types, and are read here before anything is done. Pure. */
import type { ByHandAsk } from '../../../server/protocol/by-hand';
import type { PageMessage } from '../../../server/protocol/preview';

type Test = (value: unknown) => boolean;

const isText: Test = (value) => typeof value === 'string';
const isFlag: Test = (value) => typeof value === 'boolean';
const isOffset: Test = (value) => Number.isSafeInteger(value) && (value as number) >= 0;
const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);
const oneOf =
  (...words: readonly string[]): Test =>
  (value) =>
    words.includes(value as string);

/** What the page keeps is for the page; the host reads no more of it than this. */
const isState: Test = (value) =>
  isRecord(value) && isText(value['uri']) && isFlag(value['locked']) && isRecord(value['views']);

const isNumber: Test = (value) => typeof value === 'number' && Number.isFinite(value);
const isValues: Test = (value) => isRecord(value) && Object.values(value).every(isNumber);

/** The fields of each item that may be asked about values set by hand. */
const ASKS: { readonly [K in ByHandAsk['ask']]: Readonly<Record<string, Test>> } = {
  take: { picture: isText, edge: isText },
  stops: { picture: isText, edge: isText, choice: isOffset },
  move: { picture: isText, edge: isText, choice: isOffset, t: isNumber },
  worst: { picture: isText, edge: isText, choice: isOffset, t: isNumber },
  ghosts: { picture: isText, edge: isText, choice: isOffset, t: isNumber },
  'worst stops': { picture: isText, edge: isText, choice: isOffset },
  keep: { picture: isText, edge: isText, choice: isOffset, t: isNumber },
  try: { values: isValues, stores: isFlag },
  write: { values: isValues },
};

const isAsk: Test = (value) => {
  if (!isRecord(value) || typeof value['ask'] !== 'string' || !Object.hasOwn(ASKS, value['ask'])) return false;
  const fields = ASKS[value['ask'] as ByHandAsk['ask']];
  const known = Object.keys(value).every((name) => name === 'ask' || Object.hasOwn(fields, name));
  return known && Object.entries(fields).every(([name, test]) => Object.hasOwn(value, name) && test(value[name]));
};

type Fields<T> = { readonly [K in Exclude<keyof T, 'type'>]: Test };

/** The fields of each kind of message. */
const FIELDS: { readonly [K in PageMessage['type']]: Fields<Extract<PageMessage, { type: K }>> } = {
  ready: { state: (value) => value === null || isState(value) },
  reveal: { uri: isText, start: isOffset, end: isOffset, focus: isFlag },
  state: { state: isState },
  want: { stores: isFlag },
  export: { format: oneOf('svg', 'png'), name: isText, data: isText },
  copy: { what: oneOf('svg', 'table'), text: isText },
  copied: { what: oneOf('png') },
  lock: { locked: isFlag },
  showSource: {},
  byHand: { id: isOffset, version: isOffset, rig: isText, ask: isAsk },
  readings: { action: oneOf('choose', 'remove', 'diagnose') },
  suggestion: { action: oneOf('write', 'leave') },
  overlay: { action: oneOf('choose', 'saved', 'remove') },
  fault: { message: isText },
};

const KINDS: ReadonlyMap<string, readonly [string, Test][]> = new Map(
  Object.entries(FIELDS).map(([kind, fields]) => [kind, Object.entries<Test>(fields)]),
);

/** The message with the fields of its kind and no others; null where the kind is unknown or a field is missing or of another shape. */
export function readPageMessage(value: unknown): PageMessage | null {
  if (!isRecord(value) || typeof value['type'] !== 'string') return null;
  const fields = KINDS.get(value['type']);
  if (!fields?.every(([name, test]) => Object.hasOwn(value, name) && test(value[name]))) return null;
  const kept = fields.map(([name]) => [name, value[name]] as const);
  return Object.fromEntries([['type', value['type']], ...kept]) as unknown as PageMessage;
}

/** Whether something that was sent to the page names this file: the page may show no other. `sent` is plain data. */
export function namesFile(sent: unknown, uri: string): boolean {
  if (typeof sent !== 'object' || sent === null) return false;
  if ((sent as { readonly uri?: unknown }).uri === uri) return true;
  return Object.values(sent).some((part) => namesFile(part, uri));
}
