/** Pictures out of the page: SVG text, PNG by drawing it on a canvas, clipboard. */
import { say } from '../../server/core/words/say';
import { figureSvg } from '../../server/core/diagram/kit/figure-svg';
import { noted } from '../../server/core/diagram/kit/noted';
import type { Look } from '../../server/core/diagram/kit/palette';
import type { Figure } from '../../server/core/diagram/kit/shape';
import { renderTimingSvg } from '../../server/core/diagram/timing/svg';
import type { App } from './app';
import { tabNames } from './bar';
import { shownReadings } from './session';

/** Pixels of a PNG for one of the drawing. */
const SCALE = 2;
/** Largest side of a canvas that browsers draw. */
const LARGEST_SIDE = 16_000;

/** Gives the figure of the shown tab in a look; null where it has none. */
export type FigureOf = (app: App, look: Look) => Figure | null;

/** The shown picture as SVG text in the look for exports, with the caution at its foot; null where nothing is shown. */
export function pictureSvg(app: App, figureOf: FigureOf): string | null {
  const svg = bareSvg(app, figureOf);
  return svg && noted(svg, app.rig()?.caution ?? '');
}

function bareSvg(app: App, figureOf: FigureOf): string | null {
  const look = app.session.settings.exportLook;
  const model = app.timing();
  if (!model) return null;
  if (app.tab() !== 'timing') {
    const figure = figureOf(app, look);
    return figure && figureSvg(figure, look, `${app.rig()?.title}: ${nameOfTab(app)}`);
  }
  const { from, to } = app.session.view;
  const range = from !== undefined && to !== undefined ? { from, to } : undefined;
  return renderTimingSvg(model, { look, range, second: app.second(), readings: shownReadings(app.session) });
}

/** What stands on the shown tab. */
const nameOfTab = (app: App): string => tabNames().find(([tab]) => tab === app.tab())?.[1] ?? '';

/** File name without ending: source file, rig where there are several, panel. */
export function pictureName(app: App): string {
  const file = (app.session.model?.file ?? 'rig').replace(/\.rig$/i, '');
  const many = (app.session.model?.rigs.length ?? 0) > 1;
  return [file, ...(many ? [app.rig()?.id ?? ''] : []), app.tab()].join('-');
}

/** PNG of an SVG text; rejects with a sentence where the browser cannot draw it. */
export async function pngOf(svg: string): Promise<Blob> {
  const url = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
  try {
    const image = await loadImage(url);
    const scale = Math.min(SCALE, LARGEST_SIDE / Math.max(image.width, image.height, 1));
    const canvas = document.createElement('canvas');
    canvas.width = Math.max(1, Math.round(image.width * scale));
    canvas.height = Math.max(1, Math.round(image.height * scale));
    const context = canvas.getContext('2d');
    if (!context) throw new Error(say`This editor gives the preview no canvas to draw a PNG on; export SVG instead.`);
    context.drawImage(image, 0, 0, canvas.width, canvas.height);
    return await blobOf(canvas);
  } finally {
    URL.revokeObjectURL(url);
  }
}

function loadImage(url: string): Promise<HTMLImageElement> {
  return new Promise((resolve, reject) => {
    const image = new Image();
    image.onload = () => resolve(image);
    image.onerror = () => reject(new Error(say`The picture could not be drawn as PNG; export SVG instead.`));
    image.src = url;
  });
}

function blobOf(canvas: HTMLCanvasElement): Promise<Blob> {
  return new Promise((resolve, reject) => {
    canvas.toBlob((blob) =>
      blob ? resolve(blob) : reject(new Error(say`The picture is too large for a PNG; export SVG instead.`)),
    );
  });
}

async function base64Of(blob: Blob): Promise<string> {
  const bytes = new Uint8Array(await blob.arrayBuffer());
  let binary = '';
  for (let k = 0; k < bytes.length; k += 32_768) binary += String.fromCharCode(...bytes.subarray(k, k + 32_768));
  return btoa(binary);
}

export type ExportAction = 'exportSvg' | 'exportPng' | 'copySvg' | 'copyPng';

/** Does one of the export actions and says what came of it. */
export async function runExport(app: App, action: ExportAction, figureOf: FigureOf): Promise<void> {
  const svg = pictureSvg(app, figureOf);
  if (svg === null) return app.say(say`There is no picture to export yet.`);
  try {
    if (action === 'exportSvg') app.post({ type: 'export', format: 'svg', name: pictureName(app), data: svg });
    else if (action === 'copySvg') app.post({ type: 'copy', what: 'svg', text: svg });
    else if (action === 'exportPng') {
      app.post({ type: 'export', format: 'png', name: pictureName(app), data: await base64Of(await pngOf(svg)) });
    } else await copyPng(app, svg);
  } catch (error) {
    app.say(error instanceof Error ? error.message : String(error));
  }
}

async function copyPng(app: App, svg: string): Promise<void> {
  const png = await pngOf(svg);
  try {
    await navigator.clipboard.write([new ClipboardItem({ 'image/png': png })]);
  } catch {
    return app.say(say`The editor does not let the preview put pictures on the clipboard; export PNG instead.`);
  }
  app.post({ type: 'copied', what: 'png' });
  app.say(say`Picture copied.`);
}
