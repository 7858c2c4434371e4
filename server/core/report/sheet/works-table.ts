/** Chambers, doors, lines: the parts that hold and move the medium. */
import type { Rig } from '../../model/rig';
import { formatSi, formatTime } from '../../units/units';
import { statedOf } from '../stated';
import { tableOr, text, type PageBlock } from '../page/page';
import { timeWithRange } from './control-tables';
import { say } from '../../words/say';

/** What a builder gets elsewhere on the sheet, or what belongs to no part: contents at the start are put in, not built. */
const NOT_BUILT = / at the start$/;

/** A table of items of one kind: a column for each property named, and one for whatever else is stated of any of them. */
function itemTable(
  rig: Rig,
  names: readonly string[],
  head: { readonly caption: string; readonly columns: readonly string[]; readonly numeric: readonly number[] },
  none: string,
): PageBlock {
  const stated = statedOf(rig).filter((s) => s.group === 'parts' && !NOT_BUILT.test(s.property));
  const rows = names.map((name) => {
    const own = stated.filter((s) => s.named && s.item === name);
    const cell = (column: string) => own.find((s) => s.property === column)?.text ?? '-';
    const further = own.filter((s) => !head.columns.includes(s.property)).map((s) => `${s.property}: ${s.text}`);
    return [name, ...head.columns.map(cell), further.join('; ')];
  });
  const isFurther = rows.some((row) => row.at(-1) !== '');
  return tableOr(
    {
      ...head,
      columns: [say`name`, ...head.columns, ...(isFurther ? [say`further`] : [])],
      rows: isFurther ? rows : rows.map((row) => row.slice(0, -1)),
    },
    none,
  );
}

/** Chambers that are built: not the atmosphere. */
export const builtChambers = (rig: Rig): string[] => rig.chambers.filter((c) => !c.endless).map((c) => c.name);

export const chamberParts = (rig: Rig): PageBlock =>
  itemTable(
    rig,
    builtChambers(rig),
    { caption: say`Chambers`, columns: [say`volume`, say`limit`, say`tight for`], numeric: [1, 2] },
    say`The rig has no chambers.`,
  );

export const doorParts = (rig: Rig): PageBlock =>
  itemTable(
    rig,
    rig.doors.map((d) => d.name),
    {
      caption: say`Doors, in order of declaration`,
      columns: [
        say`pocket`,
        say`clearance`,
        say`opening`,
        say`opens in`,
        say`closes in`,
        say`without power`,
        say`power moving`,
        say`power held`,
      ],
      numeric: [1, 2, 4, 5, 7, 8],
    },
    say`The rig has no doors.`,
  );

export const lineParts = (rig: Rig): PageBlock =>
  itemTable(
    rig,
    rig.lines.map((l) => l.name),
    {
      caption: say`Feeds and draws`,
      columns: [say`kind`, say`chamber`, say`rate`, say`runs only`, say`most one line carries`, say`power`],
      numeric: [3, 5, 6],
    },
    say`Nothing is fed in or drawn off.`,
  );

/** What the rig moves, what the power line carries and how the control passes changes on, a sentence each. */
export function basics({ medium, supply, controller }: Rig): PageBlock[] {
  const { style, time } = controller;
  const scan = say`The control is scanned every ${timeWithRange(time)}: it sees a change of a switch or sensor at its next scan, up to ${formatTime(time.max)} later. All times of this sheet count from that scan.`;
  return [
    ...(medium ? [text(say`Medium: ${medium.name} (${medium.phase}).`)] : []),
    ...(supply?.limit ? [text(say`The power line carries ${formatSi(supply.limit.nominal, 'power')}.`)] : []),
    ...(style === 'scan' ? [text(scan)] : []),
  ];
}

/** `receiver > upper > middle > lower > store`, one line a stack. */
export function stackLines(rig: Rig): string[] {
  return rig.stacks.map((stack) =>
    stack.members
      .map((m) => (m.kind === 'door' ? rig.doors[m.index]?.name : rig.chambers[m.index]?.name) ?? '?')
      .join(' > '),
  );
}
