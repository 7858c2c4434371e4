/** The preview's settings, read for the document it shows. */
import { workspace, type Uri } from 'vscode';
import type { PreviewSettings } from '../../../server/protocol/preview';
import { SETTINGS_SECTION } from '../../../server/protocol/settings';

export function pageSettings(uri: Uri): PreviewSettings {
  const settings = workspace.getConfiguration(SETTINGS_SECTION, uri);
  return {
    look: settings.get('preview.look', 'auto'),
    exportLook: settings.get('export.look', 'print'),
    follow: settings.get('preview.syncCursor', 'cursor'),
  };
}

/** Whether the preview changes to the rig file of the active editor. */
export function followsEditor(): boolean {
  return workspace.getConfiguration(SETTINGS_SECTION).get('preview.follow', true);
}

export function redrawsOnType(uri: Uri): boolean {
  return workspace.getConfiguration(SETTINGS_SECTION, uri).get('preview.refresh', 'onType') === 'onType';
}
