/** The pictures behind the tabs: which figure, tables and sources each one has. */
import { say } from '../../server/core/words/say';
import type { Look } from '../../server/core/diagram/kit/palette';
import type { SectionModel } from '../../server/core/diagram/section/model';
import { drawSection } from '../../server/core/diagram/section/svg';
import type { TimingModel } from '../../server/core/diagram/timing/model';
import { timingTables } from '../../server/core/diagram/timing/tables';
import type { Figure } from '../../server/core/diagram/kit/shape';
import type { Table } from '../../server/core/diagram/kit/table';
import { arrangeWiring, READABLE_SCALE } from '../../server/core/diagram/wiring/layout';
import type { WiringModel } from '../../server/core/diagram/wiring/model';
import { drawWiring } from '../../server/core/diagram/wiring/svg';
import type { App } from './app';
import { shownContents, shownFlow, shownPlot, shownStore } from './session';
import type { StageContent } from './stage';
import { storeFigure } from './store/panel';

const NONE: readonly Table[] = [];

const sectionOf = (app: App): SectionModel | null => app.rig()?.section ?? null;
const wiringOf = (app: App): WiringModel | null => app.rig()?.wiring ?? null;

/** Without a time cursor the rig is shown at rest, just before the trigger. */
const timeOf = (app: App): number => app.session.view.time ?? -1;

function sectionFigure(app: App, look: Look, purpose: 'file' | 'page'): Figure | null {
  const [model, timing] = [sectionOf(app), app.timing()];
  if (!model || !timing) return null;
  return drawSection(model, {
    look,
    timing,
    time: timeOf(app),
    purpose,
    contents: shownContents(app.session),
    flow: shownFlow(app.session),
  });
}

/** Width of a wiring as a file, px: that of the other pictures. */
const FILE_WIDTH = 1000;

function wiringFigure(app: App, look: Look, room: number | 'file'): Figure | null {
  const [model, timing] = [wiringOf(app), app.timing()];
  if (!model || !timing) return null;
  const placed = arrangeWiring(model, room === 'file' ? FILE_WIDTH : room);
  return drawWiring(placed, { look, timing, time: timeOf(app), purpose: room === 'file' ? 'file' : 'page' });
}

/** The figure of the shown tab in some look, for exports; null for the timing diagram, which is not a single figure. */
export function figureOf(app: App, look: Look): Figure | null {
  if (app.tab() === 'section') return sectionFigure(app, look, 'file');
  if (app.tab() === 'store') return storeFigure(app, look);
  return app.tab() === 'wiring' ? wiringFigure(app, look, 'file') : null;
}

/** The tables of the shown tab. */
export function tablesOf(app: App): readonly Table[] {
  const timing = app.timing();
  // An edge in the hand comes without tables, so that a step costs none where they are not shown.
  if (app.tab() === 'timing' && timing?.tables.length === 0) return heldTables(timing);
  const model = {
    timing,
    section: sectionOf(app),
    wiring: wiringOf(app),
    store: shownPlot(app.session) ?? shownStore(app.session),
  }[app.tab()];
  return model?.tables ?? NONE;
}

/** Tables of the picture drawn last: as long as it is shown they are the same. */
let held: { readonly of: TimingModel; readonly tables: readonly Table[] } | null = null;

function heldTables(model: TimingModel): readonly Table[] {
  if (held?.of !== model) held = { of: model, tables: timingTables(model) };
  return held.tables;
}

const nameOf = (app: App): string => app.rig()?.title ?? '';

export const SECTION: StageContent = {
  tab: 'section',
  least: 10 / 10.5,
  label: (app) => say`Section of ${nameOf(app)}, drawn to scale`,
  figure: (app) => sectionFigure(app, app.look(), 'page'),
  source: (app, id) => sectionOf(app)?.members.find((m) => m.id === id)?.source ?? null,
};

export const WIRING: StageContent = {
  tab: 'wiring',
  least: READABLE_SCALE,
  label: (app) => say`Wiring of ${nameOf(app)}, from inputs to doors`,
  figure: (app, width) => wiringFigure(app, app.look(), width),
  source: (app, id) => wiringOf(app)?.nodes.find((n) => n.id === id)?.source ?? null,
};
