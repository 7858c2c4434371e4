/** Names of files that the extension writes and shows. Pure. */

/** Last part of a path without its `.rig`; `rig` where nothing is left. */
export function baseName(path: string): string {
  const last = path.split('/').pop() ?? '';
  return last.replace(/\.rig$/i, '') || 'rig';
}

/** The page's proposal without anything that is not a file name; falls back to the source's name. */
export function exportName(proposed: string, sourcePath: string, format: 'svg' | 'png'): string {
  // eslint-disable-next-line no-control-regex -- control characters are what is to go
  const name = proposed.replace(/[\\/:*?"<>|\u0000-\u001f]/g, '-').replace(/^\.+/, '');
  const stem = name.replace(/\.(svg|png)$/i, '').trim();
  return `${stem || baseName(sourcePath)}.${format}`;
}
