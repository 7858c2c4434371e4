/** What a bug report needs, on the clipboard: versions, capabilities and counts. No text, no names of files. */
import { env, l10n, version as editorVersion, window, workspace } from 'vscode';
import type { CommandContext } from './commands';
import { SETTINGS, SETTINGS_SECTION } from '../../server/protocol/settings';

export async function copyInformation(context: CommandContext): Promise<void> {
  await env.clipboard.writeText(informationText(context));
  window.setStatusBarMessage(l10n.t('Diagnostics information copied.'), 5_000);
}

function informationText({ server, version, platform }: CommandContext): string {
  const initialized = server.client?.initializeResult;
  const status = server.status;
  const rigs = workspace.textDocuments.filter((document) => document.languageId === 'rig');
  const schemes = new Set(rigs.map((document) => document.uri.scheme));
  const lines = [
    `Caisson ${version} (${platform.name})`,
    `Editor: ${env.appName} ${editorVersion}, ${env.uiKind === 1 ? 'desktop' : 'web'}, remote: ${env.remoteName ?? 'none'}`,
    `Server: ${status.kind}${status.kind === 'failed' ? ` (${status.reason})` : ''}, version ${initialized?.serverInfo?.version ?? 'unknown'}`,
    `Position encoding: ${initialized?.capabilities.positionEncoding ?? 'utf-16 (not stated)'}`,
    `Capabilities: ${
      Object.keys(initialized?.capabilities ?? {})
        .sort()
        .join(', ') || 'none'
    }`,
    `Open rig documents: ${rigs.length}, schemes: ${[...schemes].sort().join(', ') || 'none'}, folders: ${workspace.workspaceFolders?.length ?? 0}, trusted: ${workspace.isTrusted}`,
    `Changed settings: ${changedSettings().join(', ') || 'none'}`,
  ];
  return lines.join('\n') + '\n';
}

/** Names only: values may hold what the user does not want to share. */
function changedSettings(): string[] {
  const settings = workspace.getConfiguration(SETTINGS_SECTION);
  return SETTINGS.map((setting) => setting.name).filter((name) => {
    const value = settings.inspect(name);
    return (
      value?.globalValue !== undefined ||
      value?.workspaceValue !== undefined ||
      value?.workspaceFolderValue !== undefined
    );
  });
}
