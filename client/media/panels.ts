/** The pictures behind the tabs: which figure, tables and sources each one has. */
import type { Look } from '../../server/core/diagram/palette';
import type { Figure } from '../../server/core/diagram/shape';
import type { Table } from '../../server/core/diagram/table';
import type { App } from './app';

const NONE: readonly Table[] = [];

/** The figure of the shown tab in some look, for exports. */
export function figureOf(_app: App, _look: Look): Figure | null {
  return null;
}

/** The tables of the shown tab. */
export function tablesOf(app: App): readonly Table[] {
  return app.timing()?.tables ?? NONE;
}
