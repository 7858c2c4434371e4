/** Pictures of an exploration as SVG: a curve over one constant, a map over two, or the trade-off between two measures. */
import { escapeXml } from '../kit/shape';
import { scaleLinear, type ScaleLinear } from 'd3-scale';
import { paletteOf } from '../kit/palette';

export interface ExploreTable {
  readonly axes: readonly string[];
  readonly measures: readonly string[];
  readonly rows: readonly {
    readonly values: readonly number[];
    readonly measures: readonly (number | null)[];
    readonly failed: number;
  }[];
  /** Indices of unbeaten rows. */
  readonly unbeaten: ReadonlySet<number>;
}

const [WIDTH, HEIGHT] = [760, 460];
const [LEFT, RIGHT, TOP, BOTTOM] = [86, 30, 58, 64];

type Scale = ScaleLinear<number, number>;

/** Two measures: their trade-off; one measure of one constant: a curve; of two or more: a map over the first two. */
export function explorePicture(table: ExploreTable): string {
  if (table.measures.length >= 2) return tradeOff(table);
  return table.axes.length === 1 ? curve(table) : map(table);
}

const palette = paletteOf('light');

const extent = (values: readonly number[]): [number, number] => {
  let [low, high] = [Infinity, -Infinity];
  for (const v of values) [low, high] = [Math.min(low, v), Math.max(high, v)];
  if (!Number.isFinite(low)) return [0, 1];
  return low === high ? [low - 1, high + 1] : [low, high];
};

const across = (values: readonly number[]): Scale =>
  scaleLinear()
    .domain(extent(values))
    .nice()
    .range([LEFT, WIDTH - RIGHT]);
const upward = (values: readonly number[]): Scale =>
  scaleLinear()
    .domain(extent(values))
    .nice()
    .range([HEIGHT - BOTTOM, TOP]);

function frame(title: string, note: string, xName: string, yName: string, x: Scale, y: Scale, body: string): string {
  const text = (at: string, words: string, more = ''): string =>
    `<text ${at} font-size="12" fill="${palette.ink}" ${more}>${escapeXml(words)}</text>`;
  const xTicks = x
    .ticks(8)
    .map(
      (t) =>
        `<line x1="${x(t)}" x2="${x(t)}" y1="${TOP}" y2="${HEIGHT - BOTTOM}" stroke="${palette.grid}"/>${text(`x="${x(t)}" y="${HEIGHT - BOTTOM + 18}"`, x.tickFormat(8)(t), 'text-anchor="middle"')}`,
    );
  const yTicks = y
    .ticks(6)
    .map(
      (t) =>
        `<line x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${y(t)}" y2="${y(t)}" stroke="${palette.grid}"/>${text(`x="${LEFT - 8}" y="${y(t) + 4}"`, y.tickFormat(6)(t), 'text-anchor="end"')}`,
    );
  const family = palette.fontFamily.replace(/"/g, "'");
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" width="${WIDTH}" height="${HEIGHT}" font-family="${family}" role="img" aria-label="${escapeXml(title)}">`,
    `<rect width="${WIDTH}" height="${HEIGHT}" fill="${palette.background}"/>`,
    text(`x="${LEFT}" y="22"`, title, 'font-weight="600"'),
    text(`x="${LEFT}" y="40"`, note),
    ...xTicks,
    ...yTicks,
    body,
    text(`x="${(LEFT + WIDTH - RIGHT) / 2}" y="${HEIGHT - 22}"`, xName, 'text-anchor="middle"'),
    `<g transform="translate(20 ${(TOP + HEIGHT - BOTTOM) / 2}) rotate(-90)">${text('x="0" y="0"', yName, 'text-anchor="middle"')}</g>`,
    '</svg>',
  ].join('\n');
}

const NOTE = 'times in s, all else in SI units';

/** A dot: filled where all requirements hold, an open ring where one fails, larger with an outline where unbeaten. */
function dot(cx: number, cy: number, failed: boolean, best: boolean): string {
  const look = failed
    ? `fill="none" stroke="${palette.faultLine}"`
    : best
      ? `fill="${palette.wanted}" stroke="${palette.wantedLine}" stroke-width="2"`
      : `fill="${palette.doorLine}"`;
  return `<circle cx="${cx.toFixed(1)}" cy="${cy.toFixed(1)}" r="${best ? 5 : 2.5}" ${look}/>`;
}

function curve({ axes, measures, rows, unbeaten }: ExploreTable): string {
  const sound = rows
    .map((r, k) => ({ x: r.values[0]!, y: r.measures[0] ?? null, failed: r.failed > 0, best: unbeaten.has(k) }))
    .filter((p): p is typeof p & { y: number } => p.y !== null);
  const x = across(rows.map((r) => r.values[0]!));
  const y = upward(sound.map((p) => p.y));
  const line = [...sound]
    .sort((a, b) => a.x - b.x)
    .map((p, k) => `${k === 0 ? 'M' : 'L'}${x(p.x).toFixed(1)} ${y(p.y).toFixed(1)}`)
    .join('');
  const dots = sound.map((p) => dot(x(p.x), y(p.y), p.failed, p.best)).join('');
  return frame(
    `${measures[0]} over ${axes[0]}`,
    `${NOTE}; ring: a requirement fails`,
    axes[0]!,
    measures[0]!,
    x,
    y,
    `<path d="${line}" fill="none" stroke="${palette.doorLine}" stroke-width="1.5"/>${dots}`,
  );
}

function tradeOff({ measures, rows, unbeaten }: ExploreTable): string {
  const sound = rows.flatMap((r, k) =>
    r.measures[0] === null || r.measures[1] === null
      ? []
      : [{ x: r.measures[0]!, y: r.measures[1]!, failed: r.failed > 0, best: unbeaten.has(k) }],
  );
  const x = across(sound.map((p) => p.x));
  const y = upward(sound.map((p) => p.y));
  // Unbeaten ones on top.
  const dots = [...sound]
    .sort((a, b) => Number(a.best) - Number(b.best))
    .map((p) => dot(x(p.x), y(p.y), p.failed, p.best))
    .join('');
  return frame(
    `${measures[1]} against ${measures[0]}`,
    `${NOTE}; large: unbeaten, ring: a requirement fails`,
    measures[0]!,
    measures[1]!,
    x,
    y,
    dots,
  );
}

function map({ axes, measures, rows }: ExploreTable): string {
  const [xs, ys] = [0, 1].map((k) => [...new Set(rows.map((r) => r.values[k]!))].sort((a, b) => a - b)) as [
    number[],
    number[],
  ];
  const padded = (list: readonly number[]): number[] => {
    const half = list.length < 2 ? 0.5 : (list[1]! - list[0]!) / 2;
    return [list[0]! - half, list[list.length - 1]! + half];
  };
  const x = across(padded(xs));
  const y = upward(padded(ys));
  const shade = scaleLinear<string>()
    .domain(extent(rows.flatMap((r) => r.measures[0] ?? [])))
    .range([palette.lane, palette.doorLine]);
  const step = (list: readonly number[], scale: Scale): number =>
    list.length < 2 ? 12 : Math.max(2, Math.abs(scale(list[1]!) - scale(list[0]!)));
  const [w, h] = [step(xs, x), step(ys, y)];
  const cells = rows.map((r) => {
    const [cx, cy] = [x(r.values[0]!), y(r.values[1]!)];
    const value = r.measures[0];
    const cell = `<rect x="${(cx - w / 2).toFixed(1)}" y="${(cy - h / 2).toFixed(1)}" width="${w.toFixed(1)}" height="${h.toFixed(1)}" fill="${value === null || value === undefined ? palette.background : shade(value)}"/>`;
    const mark =
      r.failed > 0
        ? `<path d="M${(cx - 2.5).toFixed(1)} ${(cy - 2.5).toFixed(1)}l5 5m0 -5l-5 5" stroke="${palette.faultLine}"/>`
        : '';
    return cell + mark;
  });
  const [low, high] = shade.domain();
  return frame(
    `${measures[0]} over ${axes[0]} and ${axes[1]}`,
    `${NOTE}; light ${low} to dark ${high}; cross: a requirement fails`,
    axes[0]!,
    axes[1]!,
    x,
    y,
    cells.join(''),
  );
}
