/** The state of the language server, in the editor's language status (no bar item of its own). */
import { languages, LanguageStatusSeverity, type Disposable, type LanguageStatusItem } from 'vscode';
import type { ServerStatus } from './lifecycle';

export interface StatusItem extends Disposable {
  show(status: ServerStatus): void;
}

export function createStatusItem(version: string): StatusItem {
  const item = languages.createLanguageStatusItem('caisson.server', { language: 'rig' });
  item.name = 'Caisson';
  item.command = { command: 'caisson.restartServer', title: 'Restart' };
  const show = (status: ServerStatus): void => describe(item, status, version);
  show({ kind: 'stopped' });
  return { show, dispose: () => item.dispose() };
}

function describe(item: LanguageStatusItem, status: ServerStatus, version: string): void {
  item.busy = status.kind === 'starting';
  item.severity = status.kind === 'failed' ? LanguageStatusSeverity.Error : LanguageStatusSeverity.Information;
  item.text = `Caisson ${version}: ${WORDS[status.kind]}`;
  item.detail = status.kind === 'failed' ? status.reason : '';
}

const WORDS: Record<ServerStatus['kind'], string> = {
  stopped: 'not started',
  starting: 'starting',
  running: 'ready',
  failed: 'stopped',
};
