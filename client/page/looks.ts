/** Which look the drawing has: the editor's theme, high contrast, or what the user chose. */
import type { Look } from '../../server/core/diagram/kit/palette';
import type { LookSetting } from '../../server/protocol/preview';

/** Look for the chosen setting on a body with the editor's theme classes. */
export function lookFor(setting: LookSetting, body: Element): Look {
  const contrast = contrastLook(body);
  if (contrast && setting === 'auto') return contrast;
  if (setting !== 'auto') return setting;
  return body.classList.contains('vscode-light') ? 'theme-light' : 'theme-dark';
}

function contrastLook(body: Element): Look | null {
  if (body.classList.contains('vscode-high-contrast-light')) return 'contrast-light';
  if (body.classList.contains('vscode-high-contrast')) return 'contrast-dark';
  if (!matchMedia('(forced-colors: active)').matches) return null;
  return matchMedia('(prefers-color-scheme: dark)').matches ? 'contrast-dark' : 'contrast-light';
}

/** Calls back when the editor's theme changes. */
export function watchTheme(body: Element, changed: () => void): void {
  new MutationObserver(changed).observe(body, { attributes: true, attributeFilter: ['class'] });
  matchMedia('(forced-colors: active)').addEventListener('change', changed);
}

/** Does the user ask for less motion, of the editor or of the system? */
export function lessMotion(body: Element): boolean {
  return body.classList.contains('vscode-reduce-motion') || matchMedia('(prefers-reduced-motion: reduce)').matches;
}
