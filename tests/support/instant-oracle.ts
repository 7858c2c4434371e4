/**
 * Whole rigs of isothermal ideal gas that equalise at once, by plain bookkeeping: written down from the reference (Volumes and openings), not
 * from the engine. Cells of one connection share one density; a door joins its pocket to both sides when it leaves its seat and parts them
 * when it is shut; a part of the time in which nothing turns is one sum, because only its volumes and what was fed count.
 */
import type { OracleCase } from './rig-oracle';

/** kg in each chamber at the end. Feeds and draws run throughout, without conditions. */
export function instantMasses({ chambers, doors, stack, lines, R, T, until }: OracleCase): number[] {
  const turns = doors.map(({ commands, travel }) => coursesOf(commands, travel, until));
  const times = [...new Set([0, until, ...turns.flat().map(({ t }) => t)])]
    .filter((t) => t <= until)
    .sort((a, b) => a - b);
  const at = (door: number, t: number): number => {
    const { t: since, x, v } = turns[door]!.filter((turn) => turn.t <= t + 1e-12).pop() ?? { t: 0, x: 0, v: 0 };
    return Math.min(1, Math.max(0, x + v * (t - since)));
  };
  const volume = ([kind, k]: OracleCase['stack'][number], t: number): number =>
    kind === 'c' ? chambers[k]!.volume : doors[k]!.shut + at(k, t) * (doors[k]!.open - doors[k]!.shut);
  // A shut pocket begins with the pressure of the chamber above it.
  let pressure = 0;
  let mass = stack.map((cell) => {
    if (cell[0] === 'c') pressure = chambers[cell[1]]!.pressure;
    return (pressure * volume(cell, 0)) / (R * T);
  });
  for (let k = 1; k < times.length; k++) {
    const [from, to] = [times[k - 1]!, times[k]!];
    const isShut = ([kind, door]: OracleCase['stack'][number]): boolean =>
      kind === 'd' && at(door, (from + to) / 2) === 0;
    const fed = (cell: number): number =>
      lines.reduce(
        (sum, l) =>
          stack[cell]![0] === 'c' && stack[cell]![1] === l.chamber ? sum + l.sign * l.rate * (to - from) : sum,
        0,
      );
    // A shut door stands alone and parts what is on its two sides.
    const groups: number[][] = [];
    stack.forEach((cell, place) => {
      const goesOn = place > 0 && !isShut(cell) && !isShut(stack[place - 1]!);
      if (goesOn) groups[groups.length - 1]!.push(place);
      else groups.push([place]);
    });
    const next = mass.slice();
    for (const group of groups) {
      const held = group.reduce((sum, place) => sum + mass[place]! + fed(place), 0);
      const whole = group.reduce((sum, place) => sum + volume(stack[place]!, to), 0);
      for (const place of group) next[place] = (held * volume(stack[place]!, to)) / whole;
    }
    mass = next;
  }
  return chambers.map((_, chamber) => mass[stack.findIndex(([kind, k]) => kind === 'c' && k === chamber)]!);
}

/** Every turn of a door: from then on it stands at `x` and moves by `v` per second. */
function coursesOf(
  commands: OracleCase['doors'][number]['commands'],
  travel: number,
  until: number,
): { t: number; x: number; v: number }[] {
  const turns: { t: number; x: number; v: number }[] = [];
  let [t, x, v] = [0, 0, 0];
  const arrive = (before: number): void => {
    const end = v > 0 ? t + (1 - x) / v : v < 0 ? t - x / v : Infinity;
    if (end > before) return;
    [t, x, v] = [end, v > 0 ? 1 : 0, 0];
    turns.push({ t, x, v });
  };
  for (const [moment, to] of commands) {
    if (moment > until) break;
    arrive(moment);
    [x, t] = [x + v * (moment - t), moment];
    v = to === 1 ? (x < 1 ? 1 / travel : 0) : x > 0 ? -1 / travel : 0;
    turns.push({ t, x, v });
  }
  arrive(until);
  return turns;
}
