/** What the preview page may ask: every kind of message, and everything that only looks like one. */
import { describe, expect, it } from 'vitest';
import { namesFile, readPageMessage } from '../../client/src/preview/page-messages';
import type { PageMessage } from '../../server/protocol/preview';

const state = { uri: 'file:///a.rig', locked: false, views: {}, cautioned: [] };
/** One of each kind; the compiler asks for all of them. */
const EACH: { readonly [K in PageMessage['type']]: Extract<PageMessage, { type: K }> } = {
  ready: { type: 'ready', state },
  reveal: { type: 'reveal', uri: 'file:///a.rig', start: 0, end: 9, focus: true },
  state: { type: 'state', state },
  want: { type: 'want', stores: true },
  export: { type: 'export', format: 'svg', name: 'a', data: '<svg/>' },
  copy: { type: 'copy', what: 'table', text: 'a' },
  copied: { type: 'copied', what: 'png' },
  lock: { type: 'lock', locked: true },
  byHand: {
    type: 'byHand',
    id: 7,
    version: 2,
    rig: 'a',
    ask: { ask: 'move', picture: 'a/ready on', edge: 'door:a/opens/0', choice: 0, t: 100 },
  },
  showSource: { type: 'showSource' },
  readings: { type: 'readings', action: 'diagnose' },
  suggestion: { type: 'suggestion', action: 'write' },
  overlay: { type: 'overlay', action: 'saved' },
  fault: { type: 'fault', message: 'x is undefined' },
};
const WRONG: readonly unknown[] = [undefined, null, {}, [], -1, 0.5, NaN, Infinity, 'other', 7, () => 1, Symbol('x')];
/** Values of `WRONG` that fit a field after all. */
const FITS: Readonly<Record<string, readonly unknown[]>> = {
  'ready.state': [null],
  'reveal.uri': ['other'],
  'reveal.start': [7],
  'reveal.end': [7],
  'byHand.id': [7],
  'byHand.version': [7],
  'byHand.rig': ['other'],
  'export.name': ['other'],
  'export.data': ['other'],
  'copy.text': ['other'],
  'fault.message': ['other'],
};

describe('a message of the page', () => {
  it.each(Object.values(EACH))('is taken as it is: $type', (message) => {
    expect(readPageMessage(message)).toEqual(message);
    expect(readPageMessage({ ...message, command: 'rm', __proto__: { focus: true } })).toEqual(message);
  });

  it('is also a first one, with nothing kept', () => {
    expect(readPageMessage({ type: 'ready', state: null })).toEqual({ type: 'ready', state: null });
  });

  it.each(Object.values(EACH))('is dropped where a field of $type is missing or of another shape', (message) => {
    expect(message.type).toBeTypeOf('string');
    for (const field of Object.keys(message).filter((key) => key !== 'type')) {
      const { [field]: _, ...without } = message as unknown as Record<string, unknown>;
      expect(readPageMessage(without), `no ${field}`).toBeNull();
      for (const value of WRONG) {
        const fits = FITS[`${message.type}.${field}`]?.includes(value) ?? false;
        expect(readPageMessage({ ...message, [field]: value }) !== null, `${field}: ${String(value)}`).toBe(fits);
      }
    }
  });

  it('asks about values set by hand with the fields of that question and no others', () => {
    const at = { picture: 'a/ready on', edge: 'door:a/opens/0' };
    const asks = [
      { ask: 'take', ...at },
      { ask: 'stops', ...at, choice: 1 },
      { ask: 'keep', ...at, choice: 1, t: -5 },
      { ask: 'try', values: { settle: 2 }, stores: false },
      { ask: 'write', values: {} },
    ];
    const message = (ask: unknown): unknown => ({ ...EACH.byHand, ask });
    for (const ask of asks) {
      expect(readPageMessage(message(ask))).toEqual(message(ask));
      expect(readPageMessage(message({ ...ask, edits: [] }))).toBeNull();
      for (const field of Object.keys(ask))
        for (const value of [undefined, null, NaN, () => 1, []])
          expect(readPageMessage(message({ ...ask, [field]: value })), `${ask.ask}.${field}`).toBeNull();
    }
    for (const ask of ['__proto__', 'toString', 'edit']) expect(readPageMessage(message({ ask, ...at }))).toBeNull();
    expect(readPageMessage(message({ ask: 'try', values: { settle: '2' }, stores: false }))).toBeNull();
  });

  it('is dropped where its fields are inherited, or its kind is a name that every object has', () => {
    expect(readPageMessage(Object.assign(Object.create({ locked: true }), { type: 'lock' }))).toBeNull();
    for (const type of ['__proto__', 'constructor', 'toString', 'hasOwnProperty', '', 'Lock', 'model', 3, null])
      expect(readPageMessage({ type, locked: true }), String(type)).toBeNull();
    for (const value of [...WRONG, 'lock', ['lock']]) expect(readPageMessage(value)).toBeNull();
  });
});

describe('files that the page may show', () => {
  const sent = { rigs: [{ source: { uri: 'file:///a.rig', start: 0, end: 1 }, lanes: [{ source: null }] }] };
  it('are those that a drawing names', () => {
    expect(namesFile([null, sent], 'file:///a.rig')).toBe(true);
    for (const uri of ['file:///b.rig', '', 'rigs', 'file:///a.rig#1']) expect(namesFile(sent, uri)).toBe(false);
  });
});
