/** What a stroke asks of each door as a machine, beside what its drive is stated to give. */
import type { FlowFacts, StrokeFlow } from '../flow/facts';
import type { Rig } from '../model/rig';
import { formatAlike, formatSi } from '../units/units';
import { textTable } from './text-table';

interface Asked {
  readonly name: string;
  /** Pa, the greatest difference against which it leaves its seat, and against which it closes. */
  readonly opening: number;
  readonly closing: number;
  /** N on its opening; null where no opening is stated. */
  readonly force: number | null;
  readonly thrust: number | null;
  /** Pa in its pocket while it closes. */
  readonly peak: number;
  /** W on the contents, and as stated for the drive. */
  readonly power: number;
  readonly stated: number | null;
}

/** What the power on the contents counts of the air outside. */
const COUNTED = {
  gas: '; power by absolute pressure: what the air behind a door does is part of it',
  liquid: '; power by what the pressure is above the air outside',
  packed: '',
} as const;

/**
 * `mostPressure`: Pa up to which the law of the medium holds; nothing beyond is printed. `at`: the contents that the stroke is asked at, in
 * words. Empty where nothing presses on any door.
 */
export function doorLines(
  rig: Rig,
  { loads, impossible }: StrokeFlow,
  { phase, mostPressure }: NonNullable<FlowFacts['medium']>,
  at: string,
): string[] {
  if (impossible !== null) return [];
  const asked = rig.doors.map((door, k): Asked => {
    const [opening, closing] = [Math.abs(loads.opening[k]!), Math.abs(loads.closing[k]!)];
    const area = door.area?.nominal ?? null;
    return {
      name: door.name,
      opening,
      closing,
      force: area === null ? null : Math.max(opening, closing) * area,
      thrust: door.thrust?.nominal ?? null,
      peak: loads.peak[k]!,
      power: loads.power[k]!,
      stated: door.powerMoving?.nominal ?? null,
    };
  });
  const pressed = asked.filter(({ opening, closing, power }) => opening + closing + power >= 1);
  if (pressed.length === 0) return [];
  return [
    ...doorTable(pressed, mostPressure),
    `  In a stroke ${at}, without seals, friction and weight${pressed.some(({ power }) => power >= 1) ? COUNTED[phase] : ''}.`,
    ...tooWeak(pressed),
  ];
}

function doorTable(asked: readonly Asked[], mostPressure: number): string[] {
  const within = (pressure: number): boolean => pressure <= mostPressure;
  const pressures = asked.flatMap((a) => [a.opening, a.closing, a.peak]).filter(within);
  const pressure = formatAlike(pressures, 'pressure');
  const force = formatAlike(
    asked.flatMap((a) => [a.force, a.thrust]).filter((f) => f === null || Number.isFinite(f)),
    'force',
  );
  const power = formatAlike(
    asked.flatMap((a) => [a.power, a.stated]).filter((p) => p === null || within(p)),
    'power',
  );
  const shown = (value: number): string =>
    within(value) ? (value < 1 ? '-' : pressure(value)) : `over ${formatSi(mostPressure, 'pressure')}`;
  const isSound = (a: Asked): boolean => within(a.opening) && within(a.closing) && within(a.peak);
  const rows = [
    ['door', 'opens against', 'closes against', 'force', 'thrust', 'pocket up to', 'power on the contents', 'stated'],
    ...asked.map((a) => [
      a.name,
      shown(a.opening),
      shown(a.closing),
      a.force === null || !isSound(a) || a.force < 1e-3 ? '-' : force(a.force),
      a.thrust === null ? '-' : force(a.thrust),
      shown(a.peak),
      isSound(a) && a.power >= 1 ? power(a.power) : '-',
      a.stated === null ? '-' : power(a.stated),
    ]),
  ];
  const used = rows[0]!.map((_, column) => rows.slice(1).some((row) => row[column] !== '-'));
  const filled = rows.map((row) => row.filter((_, column) => used[column]));
  return textTable(filled, ['left', ...filled[0]!.slice(1).map(() => 'right' as const)]);
}

/** Doors whose stated power is less than the contents ask for. */
function tooWeak(asked: readonly Asked[]): string[] {
  const weak = asked.filter(({ power, stated }) => stated !== null && stated > 0 && power > stated);
  if (weak.length === 0) return [];
  const names = weak.map(({ name }) => name).join(', ');
  return [
    `  POWER: pushing out the contents takes more power than is stated for ${names}: ${weak.length === 1 ? 'it moves' : 'they move'} slower than the stated travel, or something else has to push.`,
  ];
}
