/** The preview page: puts the parts together and listens to the host. */
import { say, speak, type WordTable } from '../../server/core/words/say';
import type { HostMessage, PageCommand, PanelTab } from '../../server/protocol/preview';
import { createApp, type App, type EditorApi, type StartedApp } from './app';
import { wantsRuns, type CursorMessage } from './session';
import { createBar } from './bar';
import { createComparison } from './comparison';
import { h } from './dom';
import { runExport } from './export';
import { createHandStrip } from './hand-strip';
import { watchTheme } from './looks';
import { createNotices } from './messages';
import { figureOf, SECTION, tablesOf, WIRING } from './panels';
import { createPlayer } from './player';
import { createReadings } from './readings';
import { createReadout } from './readout';
import { createStage } from './stage';
import { createTables } from './tables';
import { laneAt } from './follow';
import { createStorePanel } from './store/panel';
import { createHand } from './timing/hand';
import { createTimingPanel, type Panel } from './timing/panel';
import { createSuggestion } from './suggestion';
import { createTransport } from './transport';
import { createWhatIf } from './what-if';

declare function acquireVsCodeApi(): EditorApi;

type Parts = ReturnType<typeof createParts>;

/** Everything on the page, top down. */
function createParts(app: App) {
  const hand = createHand(app);
  const timing = createTimingPanel(app, hand);
  const store = createStorePanel(app);
  const panels: Partial<Record<PanelTab, Panel>> = {
    timing,
    section: createStage(app, SECTION),
    store,
    wiring: createStage(app, WIRING),
  };
  const active = () => panels[app.tab()] ?? timing;
  const tables = createTables(app, tablesOf);
  const transport = createTransport(app, (d) => (app.tab() === 'store' ? store : timing).step(d), store);
  const strips = [
    createPlayer(app, (t) => timing.goTo(t)),
    createHandStrip(app, hand),
    createWhatIf(app),
    createSuggestion(app),
    createReadings(app),
    createReadout(app),
    createComparison(app),
  ];
  const bar = createBar(app, {
    fit: () => active().fit(),
    actualSize: () => active().actualSize(),
    zoom: (factor) => active().zoom(factor),
    run: (action) => {
      if (action === 'copyTable') app.post({ type: 'copy', what: 'table', text: tables.text() });
      else void runExport(app, action, figureOf);
    },
  });
  return { timing, panels, active, bar, notices: createNotices(app), strips, transport, tables };
}

/** Puts the parts into the page; gives what draws them anew. */
function place(root: HTMLElement, app: App, parts: Parts): () => void {
  const { panels, active, bar, notices, strips, transport, tables } = parts;
  const empty = h('p', { class: 'empty' });
  const places = Object.entries(panels).map(([tab, panel]) =>
    h('div', { class: 'panel', role: 'tabpanel', id: `panel-${tab}`, 'aria-labelledby': `tab-${tab}` }, panel.element),
  );
  root.replaceChildren(
    bar.element,
    notices.element,
    h('main', {}, empty, ...places),
    ...strips.map((s) => s.element),
    transport.element,
    tables.element,
  );
  const askForCurves = curvesWhileShown(app);
  return () => {
    const { model, stale } = app.session;
    document.body.dataset.look = app.look();
    root.classList.toggle('stale', stale !== null);
    for (const place of places) place.hidden = place.id !== `panel-${app.tab()}` || !app.timing();
    empty.hidden = app.timing() !== null;
    empty.textContent = emptyText(app);
    askForCurves();
    bar.draw();
    notices.draw();
    if (model) active().draw();
    strips.forEach((strip) => strip.draw());
    transport.draw();
    tables.draw();
  };
}

/** What contents do over long times is computed only while it is shown: curves, scenarios. */
function curvesWhileShown(app: App): () => void {
  let asked = false;
  return () => {
    const stores = wantsRuns(app.session);
    if (stores === asked || !app.session.model) return;
    asked = stores;
    app.post({ type: 'want', stores });
  };
}

function runCommand(app: App, { active, transport }: Parts, name: PageCommand): void {
  if (name === 'fit') active().fit();
  else if (name === 'actualSize') active().actualSize();
  else if (name === 'zoomIn') active().zoom(1.25);
  else if (name === 'zoomOut') active().zoom(0.8);
  else if (name === 'toggleTable') app.view({ table: !app.session.view.table });
  else if (name === 'togglePlay') transport.toggle();
  else void runExport(app, name, figureOf);
}

/** Text cursor → rig and lane, as far as the setting allows. */
function followCursor(app: App, { timing }: Parts, message: CursorMessage): void {
  const { follow } = app.session.settings;
  if (message.by !== 'command' && (follow === 'off' || (follow === 'click' && message.by !== 'mouse'))) return;
  const found = laneAt(app.session.model?.rigs ?? [], message.start, message.uri, app.triggerIndex());
  if (!found) return;
  if (found.rig !== app.rig()?.id) app.view({ rig: found.rig, trigger: 0, from: undefined, to: undefined });
  if (found.lane) timing.showLane(found.lane);
  else if (app.session.view.lane !== undefined) app.view({ lane: undefined });
}

function build(root: HTMLElement): void {
  // The parts read the app, and the app calls them: not before it is started.
  const app: StartedApp = createApp(acquireVsCodeApi(), {
    draw: () => draw(),
    say: (text) => parts.transport.say(text),
    command: (name) => runCommand(app, parts, name),
    cursor: (message) => followCursor(app, parts, message),
  });
  const parts = createParts(app);
  const draw = place(root, app, parts);
  window.addEventListener('message', (event: MessageEvent<HostMessage>) => app.receive(event.data));
  window.addEventListener('error', (event) => app.post({ type: 'fault', message: String(event.message) }));
  window.addEventListener('unhandledrejection', (event) => app.post({ type: 'fault', message: String(event.reason) }));
  watchTheme(document.body, draw);
  draw();
  app.start();
}

function emptyText(app: App): string {
  if (!app.session.model) return say`Waiting for the rig…`;
  return app.session.model.rigs.length === 0 ? say`This file has no rig to draw yet.` : say`Nothing to draw yet.`;
}

const root = document.getElementById('caisson-preview');
if (root) {
  speak(JSON.parse(root.dataset.words ?? '{}') as WordTable);
  build(root);
}
