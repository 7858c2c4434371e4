/** The state of the language server, in the editor's language status (no bar item of its own). */
import { l10n, languages, LanguageStatusSeverity, type Disposable, type LanguageStatusItem } from 'vscode';
import type { ServerStatus } from './lifecycle';

export interface StatusItem extends Disposable {
  show(status: ServerStatus): void;
}

export function createStatusItem(version: string): StatusItem {
  const item = languages.createLanguageStatusItem('caisson.server', { language: 'rig' });
  item.name = 'Caisson';
  item.command = { command: 'caisson.restartServer', title: l10n.t('Restart') };
  const show = (status: ServerStatus): void => describe(item, status, version);
  show({ kind: 'stopped' });
  return { show, dispose: () => item.dispose() };
}

function describe(item: LanguageStatusItem, status: ServerStatus, version: string): void {
  item.busy = status.kind === 'starting';
  item.severity = status.kind === 'failed' ? LanguageStatusSeverity.Error : LanguageStatusSeverity.Information;
  item.text = `Caisson ${version}: ${wordFor(status.kind)}`;
  item.detail = status.kind === 'failed' ? status.reason : '';
}

function wordFor(kind: ServerStatus['kind']): string {
  switch (kind) {
    case 'stopped':
      return l10n.t('not started');
    case 'starting':
      return l10n.t('starting');
    case 'running':
      return l10n.t('ready');
    case 'failed':
      return l10n.t('stopped');
  }
}
