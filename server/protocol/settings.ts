/**
 * Every setting of the editor extension in one table: the server reads its defaults here, and a test compares the table with
 * `contributes.configuration` in package.json. Names are written without the section `caisson`.
 */

/** One setting. `values` limits a text setting to these words. */
export interface SettingSpec {
  readonly name: string;
  readonly type: 'boolean' | 'number' | 'string' | 'object';
  readonly default: boolean | number | string | Readonly<Record<string, string>>;
  readonly values?: readonly string[];
  readonly doc: string;
  /** Read by the server; all others concern the client only. */
  readonly server: boolean;
}

/** The section all settings stand in. */
export const SETTINGS_SECTION = 'caisson';

export const SETTINGS = [
  {
    name: 'diagnostics.scope',
    type: 'string',
    default: 'openFiles',
    values: ['openFiles', 'workspace'],
    doc: 'Which `.rig` files are checked: those that are open, or all of the folders.',
    server: true,
  },
  {
    name: 'diagnostics.limit',
    type: 'number',
    default: 200,
    doc: 'The most problems reported for one file.',
    server: true,
  },
  {
    name: 'constants',
    type: 'object',
    default: {},
    doc: 'Constants (`let`) that are given another value while trying things out, as name and value: `{ "settle": "2 s" }`.',
    server: true,
  },
  {
    name: 'inlayHints.drives',
    type: 'boolean',
    default: true,
    doc: 'Show at the end of a `drive` line when the door opens and shuts, counted from the trigger.',
    server: true,
  },
  {
    name: 'inlayHints.timers',
    type: 'boolean',
    default: true,
    doc: 'Show at the end of a `signal` line when the signal goes on and off, counted from the trigger.',
    server: true,
  },
  {
    name: 'inlayHints.requirements',
    type: 'boolean',
    default: true,
    doc: 'Show at the end of a `require` line what was found and how much it has to spare.',
    server: true,
  },
  {
    name: 'codeLens.enable',
    type: 'boolean',
    default: true,
    doc: 'Show a line above each rig with its repeat interval, requirements and problems.',
    server: true,
  },
  {
    name: 'hover.causes',
    type: 'boolean',
    default: true,
    doc: 'List the chain of causes in the hover of a door.',
    server: true,
  },
  {
    name: 'completion.snippets',
    type: 'boolean',
    default: true,
    doc: 'Offer whole statements with places to fill in.',
    server: true,
  },
  { name: 'format.enable', type: 'boolean', default: true, doc: 'Format `.rig` files.', server: true },
  {
    name: 'preview.refresh',
    type: 'string',
    default: 'onType',
    values: ['onType', 'onSave'],
    doc: 'When the preview is drawn again.',
    server: false,
  },
  {
    name: 'preview.follow',
    type: 'boolean',
    default: true,
    doc: 'The preview shows the rig of the active editor.',
    server: false,
  },
  {
    name: 'preview.syncCursor',
    type: 'string',
    default: 'cursor',
    values: ['off', 'click', 'cursor'],
    doc: 'When the lane of the item at the text cursor is marked in the preview: never, after a click, or at every move.',
    server: false,
  },
  {
    name: 'preview.look',
    type: 'string',
    default: 'auto',
    values: ['auto', 'light', 'dark'],
    doc: 'Colours of the preview: those of the editor, or always light or dark.',
    server: false,
  },
  {
    name: 'export.look',
    type: 'string',
    default: 'print',
    values: ['light', 'dark', 'print'],
    doc: 'Colours of exported pictures.',
    server: false,
  },
  {
    name: 'markdown.drawRigs',
    type: 'boolean',
    default: true,
    doc: 'Draw fenced `rig` blocks in the Markdown preview.',
    server: false,
  },
  {
    name: 'trace.server',
    type: 'string',
    default: 'off',
    values: ['off', 'messages', 'verbose'],
    doc: 'Write the messages between editor and language server to the log.',
    server: false,
  },
] as const satisfies readonly SettingSpec[];

/** The settings the server reads, for one document. */
export interface ServerSettings {
  readonly diagnosticsScope: 'openFiles' | 'workspace';
  readonly diagnosticsLimit: number;
  readonly constants: Readonly<Record<string, string>>;
  readonly driveHints: boolean;
  readonly timerHints: boolean;
  readonly requirementHints: boolean;
  readonly codeLens: boolean;
  readonly hoverCauses: boolean;
  readonly snippets: boolean;
  readonly format: boolean;
}

/** Value at a dotted path of a settings object, or undefined. */
function lookUp(settings: unknown, path: string): unknown {
  let value = settings;
  for (const key of path.split('.')) {
    if (typeof value !== 'object' || value === null) return undefined;
    value = (value as Record<string, unknown>)[key];
  }
  return value;
}

type SettingName = (typeof SETTINGS)[number]['name'];

/** The value given for a setting if it has the right type and is one of the allowed words, else the default. */
function valueOf(given: unknown, name: SettingName): unknown {
  const spec: SettingSpec = SETTINGS.find((s) => s.name === name)!;
  const value = lookUp(given, name);
  if (typeof value !== spec.type || value === null || Array.isArray(value)) return spec.default;
  if (spec.values && !spec.values.includes(value as string)) return spec.default;
  return value;
}

/** The constants whose values are texts; anything else in the object is left out. */
function textsOnly(value: unknown): Record<string, string> {
  const entries = Object.entries(value as Record<string, unknown>);
  return Object.fromEntries(entries.filter((e): e is [string, string] => typeof e[1] === 'string'));
}

/** Reads the section `caisson` as a client sends it; anything absent or of a wrong type takes its default. */
export function readSettings(given: unknown): ServerSettings {
  return {
    diagnosticsScope: valueOf(given, 'diagnostics.scope') as ServerSettings['diagnosticsScope'],
    diagnosticsLimit: Math.max(1, Math.floor(valueOf(given, 'diagnostics.limit') as number)),
    constants: textsOnly(valueOf(given, 'constants')),
    driveHints: valueOf(given, 'inlayHints.drives') as boolean,
    timerHints: valueOf(given, 'inlayHints.timers') as boolean,
    requirementHints: valueOf(given, 'inlayHints.requirements') as boolean,
    codeLens: valueOf(given, 'codeLens.enable') as boolean,
    hoverCauses: valueOf(given, 'hover.causes') as boolean,
    snippets: valueOf(given, 'completion.snippets') as boolean,
    format: valueOf(given, 'format.enable') as boolean,
  };
}
