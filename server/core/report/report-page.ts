/** The one file to hand on: text, pictures, tables, verdicts, proof and build sheet of one rig on one page that works offline. */
import { PANELS, pictureOf, type Curves, type Panel } from '../diagram/pictures';
import type { Table } from '../diagram/kit/table';
import { timingModel } from '../diagram/timing/model';
import { alikeStrokes, sinceTriggers } from '../timing/alike';
import { requirementName } from '../metrics/evaluate';
import { requirementValues, valueText } from '../metrics/requirement-value';
import type { Problem } from '../model/problem';
import type { RigFacts } from '../run/facts';
import { caution } from './caution';
import { flowTable } from './flow-table';
import { heading, tableOr, text, type CodeColour, type Page, type PageBlock, type PageTable } from './page/page';
import { sheetOf, type SheetExtras } from './sheet/sheet';

export interface ReportInputs {
  readonly facts: RigFacts;
  readonly problems: readonly Problem[];
  /** The file's text and its colours. */
  readonly source: string;
  readonly colours: readonly CodeColour[];
  /** What was proved, where it was asked for: property, verdict, reason. */
  readonly proof: readonly (readonly [string, string, string])[] | null;
  readonly sheet: SheetExtras;
}

const PICTURE_ALT: Record<Panel, string> = {
  timing: 'Timing diagram of one stroke',
  section: 'Section of the stack as the trigger comes',
  store: 'Contents of the chambers over strokes and time',
  wiring: 'Wiring of the control, from inputs to drives',
};

const CURVES_ALT: Record<Exclude<Curves, 'run'>, string> = {
  stroke: 'Pressures over one repeating stroke',
  volume: 'Pressure against volume of the pockets over one repeating stroke',
  gain: 'Mass per stroke against what the store holds',
};

export function reportPage(inputs: ReportInputs): Page {
  const { facts } = inputs;
  const title = facts.rig.title || facts.rig.name;
  const sheet = sheetOf(facts, inputs.sheet).blocks.filter(
    (b) => !(b.kind === 'heading' && b.level === 1) && b.kind !== 'caution',
  );
  return {
    title,
    blocks: [
      heading(1, title),
      { kind: 'caution', text: caution() },
      ...(facts.rig.doc === '' ? [] : [text(facts.rig.doc)]),
      heading(2, 'Requirements'),
      requirementTable(facts),
      heading(2, 'Findings'),
      findingTable(inputs.problems),
      heading(2, 'Proof'),
      proofTable(inputs.proof),
      heading(2, 'Pictures'),
      ...picturesOf(facts),
      heading(2, 'Times'),
      ...strokesOf(facts).flatMap((k) => timesOf(facts, k)),
      ...flowBlocks(facts),
      heading(2, 'Build sheet'),
      // Its own headings go one level down.
      ...sheet.map((b) => (b.kind === 'heading' ? heading(3, b.text) : b)),
      heading(2, 'Text of the rig'),
      { kind: 'code', name: 'Text of the rig', text: inputs.source, colours: inputs.colours },
    ],
  };
}

function requirementTable(facts: RigFacts): PageBlock {
  return tableOr(
    {
      caption: 'What is required, what was found, and what there is to spare',
      columns: ['requirement', 'verdict', 'value and slack'],
      rows: requirementValues(facts).map((v) => [requirementName(v.requirement), v.verdict.state, valueText(v)]),
      sortable: true,
    },
    'Nothing is required of this rig.',
  );
}

function findingTable(problems: readonly Problem[]): PageBlock {
  return tableOr(
    {
      caption: 'What the checks found',
      columns: ['severity', 'code', 'message'],
      rows: problems.map((p) => [p.severity, p.code, p.message]),
      sortable: true,
    },
    'The checks found nothing.',
  );
}

function proofTable(proof: ReportInputs['proof']): PageBlock {
  if (proof === null) return text('Nothing was proved for this report; caisson report --prove does.');
  return tableOr(
    {
      caption: 'Proved for every moment of every input and every time within tolerance',
      columns: ['property', 'verdict', 'reason'],
      rows: proof.map((row) => [...row]),
      sortable: true,
    },
    'Nothing of this rig is a matter of always or never.',
  );
}

/** Pictures of one stroke, of which there is one for each trigger; the others are of the rig. */
const OF_STROKES: ReadonlySet<Panel> = new Set(['timing', 'section']);

/** Numbers of the strokes, of several that are alike the first; null where there is none. */
const strokesOf = ({ timing }: RigFacts): (number | null)[] =>
  timing.strokes.length === 0 ? [null] : alikeStrokes(timing.strokes).map(([first]) => timing.strokes.indexOf(first!));

/** Strokes that are drawn, at most: with more the page would no longer be one that is sent by mail. */
const MOST_DRAWN = 5;

function picturesOf(facts: RigFacts): PageBlock[] {
  const strokes = strokesOf(facts);
  const drawn = strokes.slice(0, MOST_DRAWN);
  const pictures = PANELS.flatMap((panel) =>
    (OF_STROKES.has(panel) ? drawn : [null]).flatMap((k) => picture(facts, panel, k)),
  );
  const all = [
    ...pictures,
    ...drawn.flatMap((k) => STROKE_CURVES.flatMap((curves) => picture(facts, 'store', k, curves))),
  ];
  const left = strokes.length - drawn.length;
  if (left === 0) return all;
  return [...all, text(`Pictures of ${left} further triggers are left out; caisson diagram --trigger draws them.`)];
}

/** What tells a stroke from the others of its rig: "after ready goes on"; empty where it is the only one. */
function since({ timing }: RigFacts, k: number | null): string {
  if (k === null || timing.strokes.length < 2) return '';
  return sinceTriggers(alikeStrokes(timing.strokes).find(([first]) => first === timing.strokes[k]) ?? []);
}

/** Pictures of one stroke in the store panel. */
const STROKE_CURVES = ['stroke', 'volume', 'gain'] as const;

function picture(facts: RigFacts, panel: Panel, k: number | null, curves: Curves = 'run'): PageBlock[] {
  const stroke = facts.timing.strokes[k ?? 0] ?? null;
  const make = (look: 'light' | 'dark') => pictureOf(facts, panel, { look, width: 960, stroke, curves });
  const [light, dark] = [make('light'), make('dark')];
  if (light === null || dark === null) return [];
  const when = since(facts, k);
  const what = curves === 'run' ? PICTURE_ALT[panel] : CURVES_ALT[curves];
  const name = curves === 'run' ? panel : curves;
  const alt = `${what}${when === '' ? '' : `, ${when}`}.`;
  return [{ kind: 'picture', name: k === null || k === 0 ? name : `${name}-${k + 1}`, alt, svg: light, dark }];
}

function timesOf(facts: RigFacts, k: number | null): PageBlock[] {
  const when = since(facts, k);
  const tables = tablesOf(timingModel(facts, facts.timing.strokes[k ?? 0] ?? null).tables);
  return when === '' ? tables : [heading(3, `${when[0]!.toUpperCase()}${when.slice(1)}`), ...tables];
}

function tablesOf(tables: readonly Table[]): PageTable[] {
  return tables
    .filter((t) => t.rows.length > 0)
    .map((t) => ({
      kind: 'table',
      caption: t.caption,
      columns: t.columns,
      rows: t.rows.map((row) => row.cells),
      sortable: true,
    }));
}

/** The flow as its table says it, word for word. */
function flowBlocks(facts: RigFacts): PageBlock[] {
  if (!facts.flow?.medium) return [];
  const lines = flowTable(facts).filter((line) => line !== caution());
  return [heading(2, 'Flow'), { kind: 'code', name: 'Figures of the flow', text: lines.slice(2).join('\n').trim() }];
}
