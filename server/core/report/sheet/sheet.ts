/** The build sheet: from the resolved rig and its facts to a page that a builder takes to the bench. */
import type { RigFacts } from '../../run/facts';
import { alikeStrokes, triggerNames } from '../../timing/alike';
import { leavesAt } from '../../timing/course';
import type { StrokeFacts } from '../../timing/facts';
import { openedByTwo, twoChangesText } from '../../timing/two-changes';
import { listText } from '../../timing/words';
import { formatTime } from '../../units/units';
import { caution } from '../caution';
import type { Rig } from '../../model/rig';
import { endOfFaults, type FaultReport } from '../../readings/faults';
import { finish, patiently, type Work } from '../../work/work';
import { heading, tableOr, text, type Page, type PageBlock } from '../page/page';
import { openFindingsWords, type OpenFinding } from '../open-findings';
import { alreadyWords, faultRows } from '../readings-report';
import { connectionTable, controlParts, inputParts, timeWithRange } from './control-tables';
import { wiringOf, type Wiring } from './connections';
import { notSearched } from './setting-slack';
import { commissioning, orderOfWork } from './steps';
import { ventSentences } from './vents';
import { basics, chamberParts, doorParts, lineParts, stackLines } from './works-table';
import { say } from '../../words/say';

/** What others computed for this rig and the sheet shows: pictures, how far settings may be off, faults. */
export interface SheetExtras {
  readonly pictures?: readonly Extract<PageBlock, { kind: 'picture' }>[];
  /** How far a setting may be off before a requirement breaks, by name of its block. */
  readonly slack?: ReadonlyMap<string, string>;
  /** Single faults; null where no stroke could be followed, left out where they were not computed. */
  readonly faults?: FaultReport | null;
  /** Errors and warnings that the check finds in the rig, in order; left out where the page lists them elsewhere. */
  readonly findings?: readonly OpenFinding[];
  /** Findings that a comment of the text allows, each with its reason; may be empty. */
  readonly allowed?: readonly AllowedFinding[];
}

/** A finding that stands allowed in the text, as the sheet tells it. */
export interface AllowedFinding {
  readonly code: string;
  readonly message: string;
  readonly why: string;
}

/** The sheet of one rig. Its facts must be complete: a rig with errors gets none. */
export const sheetOf = (...asked: Parameters<typeof sheetWork>): Page => finish(sheetWork(...asked));

/** The same in steps of one table. */
export function* sheetWork(facts: RigFacts, extras: SheetExtras = {}): Work<Page> {
  const { rig } = facts;
  const wiring = wiringOf(rig);
  yield;
  const title = say`Build sheet: ${rig.title || rig.name}`;
  const blocks: PageBlock[] = [];
  const tables: readonly (() => readonly PageBlock[])[] = [
    () => [heading(1, title), { kind: 'caution', text: caution() }, ...findingTable(extras.findings ?? [])],
    () => [heading(2, say`What it does`), ...whatItDoes(facts), ...(extras.pictures ?? [])],
    () => [heading(2, say`Parts`), ...basics(rig), chamberParts(rig)],
    () => [doorParts(rig), lineParts(rig)],
    () => [inputParts(rig, wiring), controlParts(wiring)],
    () => [heading(2, say`Connections`), connectionTable(wiring)],
    () => [heading(2, say`Settings`), settingsTable(wiring, extras.slack ?? new Map()), ...notSearched(facts)],
    () => [heading(2, say`Order of work`), orderOfWork(facts, wiring)],
    () => [heading(2, say`Commissioning`), commissioning(facts)],
    () => [heading(2, say`Faults`), ...faultTable(rig, extras.faults), ...allowedTable(extras.allowed ?? [])],
  ];
  for (const table of tables) {
    blocks.push(...(yield* patiently(table)));
    yield;
  }
  return { title, blocks };
}

/** First of all: nothing is to be built from a rig with errors. */
function findingTable(findings: readonly OpenFinding[]): PageBlock[] {
  const words = openFindingsWords(findings);
  if (words === null) return [];
  const rows = findings.map(({ severity, message, code }) => [severity, message, code]);
  const table = {
    caption: say`What the check finds`,
    columns: ['severity', 'finding', 'code'],
    rows,
    widths: [12, 68, 20],
  };
  return [heading(2, say`Open findings`), text(words), tableOr(table, '')];
}

/** What the check found and the text allows on purpose: who builds the rig has to know of it. */
function allowedTable(allowed: readonly AllowedFinding[]): PageBlock[] {
  if (allowed.length === 0) return [];
  const rows = allowed.map(({ code, message, why }) => [message, why === '' ? say`no reason given` : why, code]);
  const caption = say`What the check finds and a comment of the text allows`;
  return [
    heading(2, say`Allowed findings`),
    tableOr({ caption, columns: [say`finding`, say`reason given`, say`code`], rows, widths: [50, 32, 18] }, ''),
  ];
}

function faultTable(rig: Rig, report: FaultReport | null | undefined): PageBlock[] {
  if (report === undefined) return [text(say`The table of single faults was not computed for this sheet.`)];
  if (report === null) return [text(say`No stroke could be followed, so there is no table of faults.`)];
  const notes = [alreadyWords(report), endOfFaults(rig, report)].filter((w) => w !== null);
  const table = tableOr(
    {
      caption: say`Single faults: failure modes that look the same stand together (terms of IEC 60812)`,
      columns: [say`failure mode`, say`effect`, say`detection`, say`distinguished by`],
      rows: faultRows(report).map(({ modes, effects, detection, apart }) => [
        modes.join('\n'),
        effects.join('\n'),
        detection,
        apart.join('\n'),
      ]),
      widths: [25, 43, 10, 22],
    },
    say`No single fault changes what is seen.`,
  );
  return [...notes.map(text), table];
}

function whatItDoes({ rig, timing }: RigFacts): PageBlock[] {
  const stacks = stackLines(rig);
  return [
    ...(rig.doc === '' ? [] : [text(rig.doc)]),
    ...(stacks.length === 0 ? [] : [{ kind: 'list' as const, items: stacks }]),
    ...ventSentences(rig).map(text),
    ...alikeStrokes(timing.strokes).map((alike) => text(strokeSentence(rig, alike))),
    ...openedByTwo(rig, timing).map((two) => text(twoChangesText(rig, two))),
    ...(timing.strokes.length === 0 ? [text(say`No single switch or sensor starts a stroke of this rig.`)] : []),
  ];
}

/** One stroke, whichever of several triggers starts it. */
function strokeSentence(rig: RigFacts['rig'], alike: readonly StrokeFacts[]): string {
  const stroke = alike[0]!;
  const doors = stroke.doors
    .flatMap(({ door, windows }) => windows.map((w) => ({ name: rig.doors[door]!.name, window: w })))
    .sort((a, b) => a.window.notShut.from - b.window.notShut.from)
    .map(({ name, window }) => {
      const { to } = window.notShut;
      const from = leavesAt(window);
      const begin = from === null ? say`${name} is open` : say`${name} leaves its seat at ${formatTime(from)}`;
      return to === null
        ? say`${begin} and stays open`
        : from === null
          ? say`${begin} and is shut at ${formatTime(to)}`
          : say`${begin} and is shut again at ${formatTime(to)}`;
    });
  const isFree = stroke.trigger.kind === 'power';
  const names = triggerNames(alike);
  const held = isFree ? '' : say` while ${names} holds`;
  const repeat = stroke.repeat === null ? '' : say` It repeats every ${formatTime(stroke.repeat)}${held}.`;
  const begins = alike.map((s) =>
    s.becomes ? say`When ${s.trigger.name} goes on` : say`When ${s.trigger.name} goes off`,
  );
  const same = alike.every((s) => s.becomes === stroke.becomes);
  const named = stroke.becomes ? say`When ${names} goes on` : say`When ${names} goes off`;
  const start = isFree ? say`From power-on, by itself` : same ? named : listText(begins, 'or');
  return say`${start}, counted from ${isFree ? say`the first opening` : say`that moment`}: ${doors.join('; ') || say`no door moves`}.${repeat}`;
}

/** Presets, counts and responses to set, each with how far it may be off. */
function settingsTable({ units }: Wiring, slack: ReadonlyMap<string, string>): PageBlock {
  const rows = units.flatMap((u) => {
    if (u.preset !== null) return [[u.name, u.kind, `PT ${timeWithRange(u.preset)}`, slack.get(u.name) ?? '-', '']];
    return u.count !== null ? [[u.name, u.kind, `PV ${u.count}`, '-', '']] : [];
  });
  return tableOr(
    {
      caption: say`Settings; the last column is for what was set`,
      columns: [say`block`, say`kind`, say`setting`, say`may be off by, alone, before a requirement breaks`, say`set`],
      rows,
    },
    say`Nothing is to be set.`,
  );
}
