/** Chambers, doors, lines: the parts that hold and move the medium. */
import type { Rig } from '../../model/rig';
import { formatSi } from '../../units/units';
import { timeWithRange } from './control-tables';
import { tableOr, type PageBlock, type PageTable } from '../page/page';

type Rows = Omit<PageTable, 'kind'>;

type Amount = { readonly nominal: number } | null | undefined;
type Dimension = Parameters<typeof formatSi>[1];
const amount = (value: Amount, dimension: Dimension): string => (value ? formatSi(value.nominal, dimension) : '-');

export const chamberParts = (rig: Rig): PageBlock => tableOr(chamberRows(rig), 'The rig has no chambers.');

export function chamberRows(rig: Rig): Rows {
  return {
    caption: 'Chambers',
    columns: ['name', 'volume', 'limit', 'tight for'],
    rows: rig.chambers.map((c) => [
      c.name,
      amount(c.volume, 'volume'),
      c.limit ? formatSi(c.limit.value.nominal, c.limit.kind) : 'not stated',
      c.tight ?? 'not stated',
    ]),
    numeric: [1, 2],
  };
}

export const doorParts = (rig: Rig): PageBlock => tableOr(doorRows(rig), 'The rig has no doors.');

export function doorRows(rig: Rig): Rows {
  return {
    caption: 'Doors, in order of declaration',
    columns: ['name', 'pocket', 'opening', 'opens in', 'closes in', 'without power', 'power moving', 'power held'],
    rows: rig.doors.map((d) => [
      d.name,
      amount(d.pocket, 'volume'),
      d.area ? `${formatSi(d.area.nominal, 'area')} (${boreText(d.area.nominal)})` : 'not stated',
      timeWithRange(d.opensIn),
      timeWithRange(d.closesIn),
      d.rest,
      amount(d.powerMoving, 'power'),
      amount(d.powerHeld, 'power'),
    ]),
    numeric: [1, 3, 4, 6, 7],
  };
}

/** The round bore of the same area. */
function boreText(area: number): string {
  return `round: ${formatSi(Math.sqrt((4 * area) / Math.PI), 'length')}`;
}

export const lineParts = (rig: Rig): PageBlock => tableOr(lineRows(rig), 'Nothing is fed in or drawn off.');

export function lineRows(rig: Rig): Rows {
  return {
    caption: 'Feeds and draws',
    columns: ['name', 'kind', 'chamber', 'rate', 'most one line carries', 'power'],
    rows: rig.lines.map((l) => [
      l.name,
      l.kind,
      rig.chambers[l.chamber]?.name ?? '-',
      l.rate ? formatSi(l.rate.value.nominal, l.rate.kind) : '-',
      l.lineLimit ? formatSi(l.lineLimit.value.nominal, l.lineLimit.kind) : 'not stated',
      amount(l.power, 'power'),
    ]),
    numeric: [3, 4, 5],
  };
}

/** `receiver > upper > middle > lower > store`, one line a stack. */
export function stackLines(rig: Rig): string[] {
  return rig.stacks.map((stack) =>
    stack.members
      .map((m) => (m.kind === 'door' ? rig.doors[m.index]?.name : rig.chambers[m.index]?.name) ?? '?')
      .join(' > '),
  );
}
