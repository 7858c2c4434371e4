/**
 * What a rig states about its contents, held against itself: contents stated twice, levels above the rim, levels and feeds of a rig
 * that has no medium. Needs names and numbers only, no law of state.
 */
import { type Context, report } from './context';
import type { Source } from './problem';
import type { Chamber, Line, Medium, Quantity, Sensor, Threshold } from './rig';
import { say } from '../words/say';

interface Stated {
  readonly medium: Medium | null;
  readonly chambers: readonly Chamber[];
  readonly sensors: readonly Sensor[];
  readonly lines: readonly Line[];
}

/** Reports what cannot hold. `mediumFound`: whether a medium is stated at all, be it readable or not. */
export function checkContents(ctx: Context, rig: Stated, mediumFound: boolean): void {
  for (const chamber of rig.chambers) {
    if (rig.medium !== null) reportTwice(ctx, rig.medium, chamber);
    if (rig.medium?.phase === 'liquid') reportAboveRim(ctx, chamber);
  }
  if (rig.medium?.phase === 'liquid') {
    for (const sensor of rig.sensors) {
      for (const threshold of [sensor.on, sensor.clears]) {
        if (threshold !== null) reportUnreachable(ctx, rig.chambers[sensor.chamber], threshold, sensor.name);
      }
    }
    for (const line of rig.lines) {
      if (line.only !== null) reportUnreachable(ctx, rig.chambers[line.chamber], line.only, line.name);
    }
  }
  reportNormalVolumes(ctx, rig);
  if (!mediumFound) reportWithoutMedium(ctx, rig);
}

/** Properties that each say alone how much a chamber holds; the pressure of a liquid is that on its surface and says nothing of it. */
const SAYS_HOW_MUCH = {
  gas: ['pressure', 'density', 'mass'],
  liquid: ['density', 'mass', 'level'],
  packed: ['density', 'mass'],
} as const;

function reportTwice(ctx: Context, { phase }: Medium, chamber: Chamber): void {
  const stated = SAYS_HOW_MUCH[phase].flatMap((word) => {
    const value = chamber[word];
    return value === null ? [] : [{ word, value }];
  });
  const [first, second] = stated;
  if (first === undefined || second === undefined || agree(chamber, stated)) return;
  const words = stated.map((s) => s.word);
  const list = say`${words.slice(0, -1).join(', ')} and ${words[words.length - 1]!}`;
  const temperature = phase === 'gas' ? say` (a gas follows from one of them and its temperature)` : '';
  const message =
    words.length === 2
      ? say`${chamber.name} states its contents twice, as ${list}${temperature}; state one of them.`
      : say`${chamber.name} states its contents ${words.length} times, as ${list}${temperature}; state one of them.`;
  report(ctx, 'value/conflict', message, second.value.at, {
    related: [{ at: first.value.at, message: say`${first.word} is stated here` }],
  });
}

/** A density and a mass that are the same contents. */
function agree({ volume }: Chamber, stated: readonly { readonly word: string; readonly value: Quantity }[]): boolean {
  const of = (word: string): number | undefined => stated.find((s) => s.word === word)?.value.nominal;
  const [density, mass] = [of('density'), of('mass')];
  if (stated.length !== 2 || volume === null || density === undefined || mass === undefined) return false;
  return Math.abs(density * volume.nominal - mass) <= 1e-6 * mass;
}

/** Height of the inside of a chamber, m: without a floor area it counts as a cube. Null where its volume is unknown. */
function heightOf({ volume, floorArea }: Chamber): number | null {
  if (volume === null) return null;
  return floorArea === null ? Math.cbrt(volume.nominal) : volume.nominal / floorArea.nominal;
}

const short = (value: number): string => String(Number(value.toPrecision(4)));

function rimOf(chamber: Chamber, height: number): string {
  const litres = short(chamber.volume!.nominal * 1000);
  const shape =
    chamber.floorArea === null
      ? say`as a cube, since no floor_area is stated`
      : say`over ${short(chamber.floorArea.nominal)} m2`;
  return say`${chamber.name} is ${short(height)} m high (${litres} L ${shape})`;
}

function reportAboveRim(ctx: Context, chamber: Chamber): void {
  const height = heightOf(chamber);
  const { level } = chamber;
  if (height === null || level === null || level.nominal <= height * (1 + 1e-9)) return;
  const message = say`${rimOf(chamber, height)}: a level of ${short(level.nominal)} m stands above its rim.`;
  report(ctx, 'value/out-of-range', message, level.at);
}

function reportUnreachable(
  ctx: Context,
  chamber: Chamber | undefined,
  { sensed, side, value }: Threshold,
  who: string,
): void {
  if (sensed !== 'level' || chamber === undefined) return;
  const height = heightOf(chamber);
  if (height === null || value.nominal < height * (1 - 1e-9) || (side === 'below' && value.nominal <= height)) return;
  const [rim, sought] = [rimOf(chamber, height), short(value.nominal)];
  const message =
    side === 'above'
      ? say`${rim}: its level is never above the ${sought} m that ${who} looks for.`
      : say`${rim}: its level is always below the ${sought} m that ${who} looks for.`;
  report(
    ctx,
    'value/out-of-range',
    message,
    value.at,
    chamber.volume === null ? {} : { related: [{ at: chamber.volume.at, message: say`its volume` }] },
  );
}

/** Normal volumes count what a gas holds; a liquid or a packed medium has none. */
function reportNormalVolumes(ctx: Context, { medium, lines }: Stated): void {
  if (medium === null || medium.phase === 'gas') return;
  for (const rate of lines.flatMap((line) => [line.rate, line.lineLimit, line.pumpLimit])) {
    if (rate?.kind !== 'amount_flow') continue;
    const message =
      medium.phase === 'liquid'
        ? say`Normal volumes count a gas, and ${medium.name} is ${medium.phase}; write a mass flow or a volume flow.`
        : say`Normal volumes count a gas, and ${medium.name} is ${medium.phase}; write a mass flow.`;
    report(ctx, 'unit/dimension', message, rate.value.at);
  }
}

/** Feeds, draws and levels mean something only for something that flows. */
function reportWithoutMedium(ctx: Context, { chambers, sensors, lines }: Stated): void {
  const missing = (what: string, at: Source): void =>
    report(ctx, 'value/missing', say`${what}, but the rig states no medium; add one, such as medium water.`, at);
  for (const line of lines) {
    const flow = line.rate?.value.at ?? line.curve?.at ?? null;
    if (flow !== null)
      missing(line.kind === 'feed' ? say`${line.name} feeds something` : say`${line.name} draws something`, flow);
  }
  for (const { name, level } of chambers) if (level !== null) missing(say`${name} has a level`, level.at);
  for (const { name, on } of sensors) if (on?.sensed === 'level') missing(say`${name} looks at a level`, on.value.at);
}
