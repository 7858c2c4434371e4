/** The timing diagram as tables: the same edges and marks, in words and numbers. */
import { changesOf } from '../kit/state';
import type { Table, TableRow } from '../kit/table';
import { type KnownTo, momentText, timeText } from '../kit/time-text';
import { becauseText } from './causes';
import type { DoorEdgeKind, DoorLane, Lane, PairMark, TimingEdge, TimingModel } from './model';
import { say } from '../../words/say';

/** Doors with cumulative times, the relations between doors (where there are any), every change in order of time. */
export function timingTables(model: Pick<TimingModel, 'lanes' | 'marks' | 'end' | 'finest'>): Table[] {
  const { lanes, marks } = model;
  const doors = lanes.filter((l): l is DoorLane => l.kind === 'door');
  const tables: Table[] = [];
  if (doors.length > 0) tables.push(doorTable(doors, model));
  if (marks.length > 0) tables.push(markTable(marks, model));
  return [...tables, changeTable(lanes, model)];
}

/** Where a record ends, and how finely its moments are known. */
type Recorded = KnownTo & Pick<TimingModel, 'end'>;

function doorTable(doors: readonly DoorLane[], recorded: Recorded): Table {
  return {
    caption: say`Doors, times from the trigger`,
    columns: [say`Door`, say`Opens`, say`Fully open`, say`Closes`, say`Shut`, say`Fully open for`],
    rows: doors.flatMap((door) => doorRows(door, recorded)),
  };
}

/** One opening of a door: the edges from leaving shut to being shut, in order. */
function openingsOf(door: DoorLane): TimingEdge[][] {
  const openings: TimingEdge[][] = [];
  for (const edge of door.edges) {
    const current = openings[openings.length - 1];
    if (!current || current[current.length - 1]!.kind === 'shuts') openings.push([edge]);
    else current.push(edge);
  }
  return openings;
}

function doorRows(door: DoorLane, recorded: Recorded): TableRow[] {
  // One that begins as the record ends is not recorded.
  const openings = openingsOf(door).filter((edges) => edges[0]!.t < recorded.end);
  if (openings.length === 0) {
    const still = (door.points[0]?.position ?? 0) > 0 ? say`stays open` : say`stays shut`;
    return [{ id: door.id, cells: [door.name, still, '', '', '', ''], source: door.source }];
  }
  return openings.map((edges, k) => {
    const at = (kind: DoorEdgeKind) => edges.find((e) => e.kind === kind);
    const [opened, closes] = [at('opened'), at('closes')];
    const dwell = opened && closes && closes.t >= opened.t ? timeText(closes.t - opened.t) : '–';
    return {
      id: `${door.id}/opening/${k}`,
      cells: [door.name, ...[at('opens'), opened, closes, at('shuts')].map((edge) => timeCell(edge, recorded)), dwell],
      source: door.source,
    };
  });
}

function timeCell(edge: TimingEdge | undefined, known: KnownTo): string {
  if (!edge) return '–';
  if (edge.min === null || edge.max === null || edge.min === edge.max) return momentText(edge.t, known);
  return `${timeText(edge.t)} (${timeText(edge.min)} … ${timeText(edge.max)})`;
}

function markTable(marks: readonly PairMark[], known: KnownTo): Table {
  const doorsOf = (mark: PairMark) => mark.lanes.map((l) => l.slice('door:'.length)).join(', ');
  return {
    caption: say`Between doors`,
    columns: [say`Doors`, say`What`, say`From`, say`To`, say`Verdict`],
    rows: marks.map((mark) => ({
      id: mark.id,
      cells: [
        doorsOf(mark),
        mark.label,
        momentText(mark.from, known),
        mark.to === null ? '–' : momentText(mark.to, known),
        verdictWords(mark.verdict),
      ],
      source: mark.source,
    })),
  };
}

function verdictWords(verdict: PairMark['verdict']): string {
  switch (verdict) {
    case 'wanted':
      return say`as wanted`;
    case 'apart':
      return say`kept apart`;
    case 'short':
      return say`not as asked for`;
    case 'unstated':
      return say`not stated`;
  }
}

/** Changes that are listed; a record of a day has too many for a table to be read or sent. */
const MOST_CHANGES = 1_000;

function changeTable(lanes: readonly Lane[], known: KnownTo): Table {
  const changes = changesOf(lanes);
  const rows = changes.slice(0, MOST_CHANGES).map((edge) => ({
    id: edge.id,
    cells: [timeCell(edge, known), edge.text, becauseText(lanes, edge.id)],
    source: edge.source,
  }));
  const caption =
    rows.length < changes.length
      ? say`The first ${MOST_CHANGES} of ${changes.length} changes`
      : say`All changes in order of time`;
  return { caption, columns: [say`Time`, say`Change`, say`Because`], rows };
}
