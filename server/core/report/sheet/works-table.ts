/** Chambers, doors, lines: the parts that hold and move the medium. */
import type { Rig } from '../../model/rig';
import { formatSi } from '../../units/units';
import { tableOr, type PageBlock } from '../page/page';
import { timeWithRange } from './control-tables';

type Amount = { readonly nominal: number } | null | undefined;
type Dimension = Parameters<typeof formatSi>[1];
const amount = (value: Amount, dimension: Dimension): string => (value ? formatSi(value.nominal, dimension) : '-');

export function chamberParts(rig: Rig): PageBlock {
  return tableOr(
    {
      caption: 'Chambers',
      columns: ['name', 'volume', 'limit', 'tight for'],
      rows: rig.chambers.map((c) => [
        c.name,
        amount(c.volume, 'volume'),
        c.limit ? formatSi(c.limit.value.nominal, c.limit.kind) : 'not stated',
        c.tight ?? 'not stated',
      ]),
      numeric: [1, 2],
    },
    'The rig has no chambers.',
  );
}

export function doorParts(rig: Rig): PageBlock {
  return tableOr(
    {
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
    },
    'The rig has no doors.',
  );
}

/** The round bore of the same area. */
function boreText(area: number): string {
  return `round: ${formatSi(Math.sqrt((4 * area) / Math.PI), 'length')}`;
}

export function lineParts(rig: Rig): PageBlock {
  return tableOr(
    {
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
    },
    'Nothing is fed in or drawn off.',
  );
}

/** `receiver > upper > middle > lower > store`, one line a stack. */
export function stackLines(rig: Rig): string[] {
  return rig.stacks.map((stack) =>
    stack.members
      .map((m) => (m.kind === 'door' ? rig.doors[m.index]?.name : rig.chambers[m.index]?.name) ?? '?')
      .join(' > '),
  );
}
