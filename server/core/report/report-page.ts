/** The one file to hand on: text, pictures, tables, verdicts, proof and build sheet of one rig on one page that works offline. */
import { PANELS, pictureOf, type Panel } from '../diagram/pictures';
import type { Table } from '../diagram/kit/table';
import { timingModel } from '../diagram/timing/model';
import { requirementName } from '../metrics/evaluate';
import { requirementValues, valueText } from '../metrics/requirement-value';
import type { Problem } from '../model/problem';
import type { RigFacts } from '../run/facts';
import { CAUTION } from './caution';
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
      { kind: 'caution', text: CAUTION },
      ...(facts.rig.doc === '' ? [] : [text(facts.rig.doc)]),
      heading(2, 'Requirements'),
      requirementTable(facts),
      heading(2, 'Findings'),
      findingTable(inputs.problems),
      heading(2, 'Proof'),
      proofTable(inputs.proof),
      heading(2, 'Pictures'),
      ...PANELS.flatMap((panel) => picture(facts, panel)),
      heading(2, 'Times'),
      ...tablesOf(timingModel(facts, facts.timing.strokes[0] ?? null).tables),
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

function picture(facts: RigFacts, panel: Panel): PageBlock[] {
  const stroke = facts.timing.strokes[0] ?? null;
  const make = (look: 'light' | 'dark') => pictureOf(facts, panel, { look, width: 960, stroke });
  const [light, dark] = [make('light'), make('dark')];
  if (light === null || dark === null) return [];
  return [{ kind: 'picture', name: panel, alt: `${PICTURE_ALT[panel]}.`, svg: light, dark }];
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
  const lines = flowTable(facts).filter((line) => line !== CAUTION);
  return [heading(2, 'Flow'), { kind: 'code', name: 'Figures of the flow', text: lines.slice(2).join('\n').trim() }];
}
