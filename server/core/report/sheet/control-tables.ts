/** Parts, connections and settings of the control as tables. */
import type { Rig, TimeValue } from '../../model/rig';
import { formatSi, formatTime } from '../../units/units';
import { tableOr, type PageBlock } from '../page/page';
import type { UnitKind } from './connections';
import type { Terminal, Unit, Wiring } from './connections';
import { switchWords } from './vents';
import { say } from '../../words/say';

const DRIVEN = new Set<Unit['kind']>(['door', 'feed', 'draw']);
const INPUTS = new Set<Unit['kind']>(['switch', 'sensor']);

/** A time with its tolerance: `40 ms`, `40 ms (30 ms to 50 ms)`. */
export function timeWithRange(time: TimeValue): string {
  const nominal = formatTime(time.nominal);
  return time.min === time.max ? nominal : `${nominal} (${formatTime(time.min)} to ${formatTime(time.max)})`;
}

/** Gates and blocks with their settings, in the order in which they are evaluated. */
export function controlParts({ units }: Wiring): PageBlock {
  const rows = units
    .filter((u) => !DRIVEN.has(u.kind) && !INPUTS.has(u.kind))
    .map((u) => [
      u.name,
      kindText(u.kind),
      settingOf(u),
      u.response === null ? say`at once` : timeWithRange(u.response),
    ]);
  return tableOr(
    {
      caption: say`Control: gates, timers, latches, counters. Gate functions number their inputs 1, 2, 3 …`,
      columns: [say`name`, say`kind`, say`setting or function`, say`answers after`],
      rows,
      numeric: [3],
    },
    say`The control has no gates or blocks: inputs drive directly.`,
  );
}

/** `PT 1.8 s`, `PV 6`, `1 and not 2`; empty for blocks without a setting. */
export function settingOf(unit: Unit): string {
  if (unit.preset !== null) return `PT ${timeWithRange(unit.preset)}`;
  if (unit.count !== null) return `PV ${unit.count}`;
  return unit.formula;
}

/** Switches and sensors: set points, polarity, and how each stands when power comes. */
export function inputParts(rig: Rig, { units }: Wiring): PageBlock {
  const rows = units
    .filter((u) => INPUTS.has(u.kind))
    .map((u) => [
      u.name,
      kindText(u.kind),
      u.kind === 'switch' ? switchWords(rig, u.name) : sensorWords(rig, u.name),
      u.initial ? 'on' : 'off',
    ]);
  return tableOr(
    { caption: say`Inputs`, columns: [say`name`, say`kind`, say`on when`, say`at power-on`], rows },
    say`The rig has no switch and no sensor.`,
  );
}

/** `pressure of receiver above 1.5 bar, off again below 1.3 bar`. */
export function sensorWords(rig: Rig, name: string): string {
  const sensor = rig.sensors.find((s) => s.name === name);
  if (!sensor?.on) return say`not stated`;
  const { sensed, side, value } = sensor.on;
  const chamber = rig.chambers[sensor.chamber]?.name ?? say`its chamber`;
  const amount = (si: number) => formatSi(si, sensed === 'level' ? 'length' : sensed);
  const off = sensor.clears
    ? say`, off again ${sensor.clears.side} ${amount(sensor.clears.value.nominal)}`
    : say`, off again at the same value`;
  return say`${sensed} of ${chamber} ${side} ${amount(value.nominal)}${off}`;
}

/** The words for gates, which the language has not; the kinds of blocks are its own. */
function kindText(kind: UnitKind): string {
  if (kind === 'gate') return say`gate`;
  return kind === 'input gate' ? say`input gate` : kind;
}

const terminal = ({ unit, pin }: Terminal) => `${unit} : ${pin}`;

/** Every wire once; places of one signal stand together. */
export function connectionTable({ wires }: Wiring): PageBlock {
  return tableOr(
    {
      caption: say`Connections. Each line is one wire, from terminal to terminal. "2 of 3": the signal goes to three places, and this is the second; a place left out is the most common mistake.`,
      columns: [say`wire`, say`from`, say`to`, say`place`, say`done`],
      rows: wires.map((w) => [
        String(w.number),
        terminal(w.from),
        terminal(w.to),
        w.places === 1 ? say`only` : say`${w.place} of ${w.places}`,
        '☐',
      ]),
      numeric: [0],
    },
    say`There are no connections.`,
  );
}
