/**
 * Colours by role. Hues are taken from the palette of M. Okabe and K. Ito, "Color Universal Design (CUD): How to make figures and
 * presentations that are friendly to colorblind people" (2002, revised 2008, https://jfly.uni-koeln.de/color/): blue and sky blue for
 * doors, bluish green for what is wanted, vermillion for faults, orange for what the rig senses, reddish purple for a second variant,
 * yellow for what is lit. Shades were then moved along lightness until text reads at 4.5 : 1 and lines at 3 : 1 on their ground
 * (WCAG 2.1, 1.4.3 and 1.4.11; tests/diagram/palette.test.ts measures both, and the distances under simulated colour blindness).
 * Every state has a second cue as well: hatch, dots, dashes or a label.
 */

export interface Palette {
  readonly background: string;
  /** Ground of a lane. */
  readonly lane: string;
  readonly ink: string;
  readonly muted: string;
  readonly grid: string;
  /** The opening of a door, and its outline. */
  readonly door: string;
  readonly doorLine: string;
  /** A logic lane while it is on, and its step line. */
  readonly on: string;
  readonly logicLine: string;
  readonly sensorLine: string;
  readonly wanted: string;
  readonly wantedLine: string;
  readonly fault: string;
  readonly faultLine: string;
  /** Halo behind what is lit, and the time cursor. */
  readonly lit: string;
  readonly cursor: string;
  /** A second variant laid over. */
  readonly second: string;
  /** Shading of what chambers hold. */
  readonly contents: string;
  readonly fontFamily: string;
}

export type Look =
  'light' | 'dark' | 'print' | 'theme' | 'theme-light' | 'theme-dark' | 'contrast-light' | 'contrast-dark';

const SANS = "system-ui, 'Segoe UI', 'Helvetica Neue', Arial, sans-serif";

const LIGHT: Palette = {
  background: '#ffffff',
  lane: '#f4f7fa',
  ink: '#1b2733',
  muted: '#566472',
  grid: '#dbe2e9',
  door: '#a9d5f1',
  doorLine: '#005487',
  on: '#dde5ec',
  logicLine: '#3c4a58',
  sensorLine: '#a56a00',
  wanted: '#a6ddc9',
  wantedLine: '#007f5c',
  fault: '#fbd9c4',
  faultLine: '#c24f00',
  lit: '#f0e442',
  cursor: '#8a2f63',
  second: '#b1528a',
  contents: '#0072b2',
  fontFamily: SANS,
};

const DARK: Palette = {
  background: '#15191e',
  lane: '#1c2229',
  ink: '#e8edf2',
  muted: '#9fadba',
  grid: '#2d3640',
  door: '#215a80',
  doorLine: '#7ccaf8',
  on: '#313c47',
  logicLine: '#c3ced8',
  sensorLine: '#eeb034',
  wanted: '#12594a',
  wantedLine: '#2cb88e',
  fault: '#5e3016',
  faultLine: '#ff8f4a',
  lit: '#8f8720',
  cursor: '#eea6cd',
  second: '#d98cb8',
  contents: '#56b4e9',
  fontFamily: SANS,
};

/** For paper and copiers: black, white and greys; the second cues carry the meaning. */
const PRINT: Palette = {
  ...LIGHT,
  lane: '#ffffff',
  ink: '#000000',
  muted: '#4a4a4a',
  grid: '#d4d4d4',
  door: '#d9d9d9',
  doorLine: '#000000',
  on: '#ececec',
  logicLine: '#000000',
  sensorLine: '#000000',
  wanted: '#ffffff',
  wantedLine: '#4a4a4a',
  fault: '#ffffff',
  faultLine: '#000000',
  lit: '#bdbdbd',
  cursor: '#000000',
  second: '#6e6e6e',
  contents: '#555555',
};

/** Grounds and text of the editor's theme over the colours of a look. */
function themed(base: Palette): Palette {
  return {
    ...base,
    background: `var(--vscode-editor-background, ${base.background})`,
    ink: `var(--vscode-editor-foreground, ${base.ink})`,
    fontFamily: `var(--vscode-font-family, ${SANS})`,
  };
}

/** For a place whose theme is not known when the picture is made (the editor's Markdown preview): middle tones that read on both. */
const EITHER: Palette = {
  ...LIGHT,
  background: 'none',
  lane: 'rgba(128, 140, 152, 0.10)',
  ink: 'var(--vscode-editor-foreground, currentColor)',
  muted: 'var(--vscode-descriptionForeground, #76838f)',
  grid: 'rgba(128, 140, 152, 0.35)',
  door: 'rgba(58, 150, 208, 0.45)',
  doorLine: '#2389c9',
  on: 'rgba(128, 140, 152, 0.30)',
  logicLine: '#7c8a97',
  sensorLine: '#b87a00',
  wanted: 'rgba(0, 158, 115, 0.35)',
  wantedLine: '#00996f',
  fault: 'rgba(213, 94, 0, 0.25)',
  faultLine: '#e06a10',
  cursor: '#c0659a',
  second: '#c0659a',
  contents: '#2389c9',
  fontFamily: `var(--vscode-font-family, ${SANS})`,
};

const CONTRAST_DARK: Palette = {
  ...DARK,
  background: 'var(--vscode-editor-background, #000000)',
  lane: 'none',
  ink: 'var(--vscode-editor-foreground, #ffffff)',
  muted: '#ffffff',
  grid: '#5a5a5a',
  door: '#00568a',
  doorLine: '#8fd6ff',
  on: '#3a3a3a',
  logicLine: '#ffffff',
  sensorLine: '#ffc24a',
  wanted: '#00604a',
  wantedLine: '#3ccfa0',
  fault: '#000000',
  faultLine: '#ffa05c',
  lit: '#b3a800',
  cursor: '#ffb3da',
  second: '#ff9fd0',
  fontFamily: `var(--vscode-font-family, ${SANS})`,
};

const CONTRAST_LIGHT: Palette = {
  ...LIGHT,
  background: 'var(--vscode-editor-background, #ffffff)',
  lane: 'none',
  ink: 'var(--vscode-editor-foreground, #000000)',
  muted: '#292929',
  grid: '#9a9a9a',
  door: '#9fd3f5',
  doorLine: '#004a78',
  on: '#d5d5d5',
  logicLine: '#000000',
  sensorLine: '#6b4400',
  wantedLine: '#006b4f',
  fault: '#ffffff',
  faultLine: '#8f3500',
  cursor: '#6b1848',
  second: '#7d2458',
  fontFamily: `var(--vscode-font-family, ${SANS})`,
};

const PALETTES: Record<Look, Palette> = {
  light: LIGHT,
  dark: DARK,
  print: PRINT,
  theme: EITHER,
  'theme-light': themed(LIGHT),
  'theme-dark': themed(DARK),
  'contrast-light': CONTRAST_LIGHT,
  'contrast-dark': CONTRAST_DARK,
};

/** The colours of a look. `light`, `dark` and `print` are literal colours; the others read variables of the editor's page. */
export function paletteOf(look: Look): Palette {
  return PALETTES[look];
}
