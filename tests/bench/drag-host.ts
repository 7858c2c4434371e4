/** For `drag.bench.mjs`, inside the browser: answers the page from the real core, and measures a step from the key to the picture. */

import { previewModel } from '../../server/core/diagram/preview-model';
import { createDocument } from '../../server/core/document/document';
import { byHand } from '../../server/lsp/by-hand';
import { createTurns } from '../../server/lsp/turns';
import type { HostMessage, PageMessage } from '../../server/protocol/preview';

const URI = 'file:///bench.rig';
const tick = (): Promise<void> =>
  new Promise((done) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => done();
    port2.postMessage(null);
  });
const turns = createTurns({ pause: tick, now: () => performance.now() }, () => 0);

let engine = 0;
let waiting = 0;
let draws = 0;
/** Draws made when the last answer to a move came in; -1 while it is awaited. */
let drawsAtAnswer = -1;
let opened: Parameters<typeof byHand>[0] | null = null;

async function answer(message: PageMessage): Promise<HostMessage | null> {
  if (message.type !== 'byHand' || !opened) return null;
  const { id, version, rig, ask } = message;
  waiting += 1;
  const started = performance.now();
  const run = await turns.run(byHand(opened, { ...ask, uri: URI, version, rig }), 'caret', () => false);
  const found = run && run.value;
  if (ask.ask === 'move') engine = performance.now() - started;
  waiting -= 1;
  // The editor sends plain data from process to process.
  return { type: 'byHand', id, answer: structuredClone(found) };
}

/** Draws a text; the page shows the rig that is named. */
async function show(text: string, rig: string, version: number): Promise<void> {
  const document = createDocument({ uri: URI, version, text }, () => undefined);
  opened = { document, settings: { constants: {} } } as unknown as Parameters<typeof byHand>[0];
  const settings = { look: 'auto', exportLook: 'light', follow: 'cursor' } as const;
  const rigs = document.analysed().map((facts) => previewModel(facts, { caution: '' }));
  const message: HostMessage = {
    type: 'model',
    uri: URI,
    version,
    file: 'bench.rig',
    rigs,
    banner: null,
    settings,
    locked: false,
  };
  window.postMessage(message, '*');
  const source = rigs.find((r) => r.id === rig)!.source;
  window.postMessage({ type: 'cursor', uri: URI, start: source.start, end: source.start, by: 'command' }, '*');
  for (let k = 0; k < 6; k++) await tick();
}

const press = (key: string, shiftKey = false): boolean =>
  document.activeElement!.dispatchEvent(
    new KeyboardEvent('keydown', { key, shiftKey, bubbles: true, cancelable: true }),
  );
const strip = (): string => document.querySelector('.hand-strip:not([hidden])')?.textContent ?? '';

async function until(holds: () => boolean, what: string): Promise<void> {
  const end = performance.now() + 120_000;
  while (!holds()) {
    if (performance.now() > end) throw new Error(`waited in vain: ${what}`);
    await tick();
  }
}

async function hold(edge: string): Promise<void> {
  document.querySelector<SVGElement>(`[data-edge="${edge}"]`)!.focus();
  press(' ');
  await until(() => strip().includes(' of '), `${edge} is held`);
  await until(() => waiting === 0, 'stops');
}

/** One step; what the engine and the whole took of the clock, ms. */
async function step(by: 'ArrowRight' | 'ArrowLeft', far: boolean): Promise<{ all: number; engine: number }> {
  drawsAtAnswer = -1;
  const started = performance.now();
  press(by, far);
  await until(() => drawsAtAnswer >= 0 && draws > drawsAtAnswer, 'a step');
  // Style and layout are part of a picture; paint is the browser's, beside this thread.
  document.querySelector('.timing svg')!.getBoundingClientRect();
  return { all: performance.now() - started, engine };
}

Object.assign(window, {
  toHost: answer,
  bench: { show, hold, step },
  // Nothing waits for the screen: what is measured is work.
  requestAnimationFrame: (draw: (now: number) => void) =>
    void tick().then(() => {
      draw(performance.now());
      draws += 1;
    }),
});

window.addEventListener('message', ({ data }: MessageEvent<HostMessage>) => {
  if (data.type === 'byHand' && data.answer?.kind === 'moved') drawsAtAnswer = draws;
});
