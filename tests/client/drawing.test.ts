import { describe, expect, it } from 'vitest';
import { messagesFor, type DrawingInput } from '../../client/src/preview/drawing';
import type { PreviewModel } from '../../server/protocol/preview';

const rig = (id: string): PreviewModel => ({
  id,
  title: '',
  source: { uri: 'file:///a.rig', start: 0, end: 9 },
  timing: [],
  section: { title: '', phase: null, members: [], stacks: [], tables: [] },
  wiring: { title: '', nodes: [], edges: [], tables: [] },
  contents: [],
  stores: null,
  flows: [],
  plots: null,
  storesWhy: null,
  sliders: [],
  proof: null,
  caution: 'Stored pressure.',
});
const broken = {
  version: 2,
  rigs: null,
  banner: { severity: 'error' as const, message: 'A name is missing.', line: 4, source: null },
};
const input = (over: Partial<DrawingInput>): DrawingInput => ({
  uri: 'file:///a.rig',
  file: 'a.rig',
  answer: { version: 1, rigs: [rig('one')], banner: null },
  lastGood: null,
  settings: { look: 'auto', exportLook: 'print', follow: 'cursor' },
  locked: false,
  cautionDue: true,
  ...over,
});

describe('messages for an answer', () => {
  it('a sound answer is drawn and kept', () => {
    const { messages, lastGood } = messagesFor(input({}));
    expect(messages).toMatchObject([{ type: 'model', version: 1, rigs: [{ id: 'one', caution: 'Stored pressure.' }] }]);
    expect(lastGood).toMatchObject({ uri: 'file:///a.rig', version: 1 });
  });

  it('broken text keeps the last drawing and says where it is broken', () => {
    const { lastGood } = messagesFor(input({}));
    const after = messagesFor(input({ answer: broken, lastGood }));
    expect(after.messages).toMatchObject([
      { type: 'model', version: 1, rigs: [{ id: 'one' }] },
      { type: 'stale', version: 2, line: 4, message: 'A name is missing.' },
    ]);
    expect(after.lastGood).toBe(lastGood);
  });

  it('broken text with nothing drawn before says so in an empty drawing', () => {
    const { messages } = messagesFor(input({ answer: broken }));
    expect(messages).toMatchObject([{ type: 'model', rigs: [], banner: { line: 4 } }]);
  });

  it('never shows the drawing of another file', () => {
    const { lastGood } = messagesFor(input({}));
    const { messages } = messagesFor(input({ uri: 'file:///b.rig', answer: broken, lastGood }));
    expect(messages).toMatchObject([{ type: 'model', uri: 'file:///b.rig', rigs: [] }]);
  });

  it('leaves the caution out where it has been shown', () => {
    const { messages } = messagesFor(input({ cautionDue: false }));
    expect(messages).toMatchObject([{ rigs: [{ caution: null }] }]);
  });
});
