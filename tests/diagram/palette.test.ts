/**
 * Contrast by WCAG 2.1 (relative luminance, 1.4.3 and 1.4.11). Colour blindness simulated by the matrices of G. M. Machado, M. M.
 * Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE TVCG 15(6), 2009,
 * severity 1.0 (given from memory of the paper's table); distances in CIELAB (ΔE 1976, D65). The limit 10 is ours: several times the
 * just noticeable difference of about 2.3. Lines carry the state; fills are tints of them under dots or hatch and are not measured.
 */
import { describe, expect, it } from 'vitest';
import { paletteOf, type Palette } from '../../server/core/diagram/kit/palette';

type Rgb = [number, number, number];
const linear = (hex: string): Rgb =>
  [1, 3, 5].map((k) => {
    const v = parseInt(hex.slice(k, k + 2), 16) / 255;
    return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  }) as Rgb;
const luminance = ([r, g, b]: Rgb) => 0.2126 * r + 0.7152 * g + 0.0722 * b;
const contrast = (a: string, b: string) => {
  const [high, low] = [luminance(linear(a)), luminance(linear(b))].sort((x, y) => y - x) as [number, number];
  return (high + 0.05) / (low + 0.05);
};

const VISION: Record<string, number[]> = {
  usual: [1, 0, 0, 0, 1, 0, 0, 0, 1],
  protanopia: [0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998],
  deuteranopia: [0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.01182, 0.04294, 0.968881],
  tritanopia: [1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.3039],
};
const seen = (rgb: Rgb, m: number[]): Rgb =>
  [0, 3, 6].map((k) => Math.max(0, Math.min(1, m[k]! * rgb[0] + m[k + 1]! * rgb[1] + m[k + 2]! * rgb[2]))) as Rgb;

function lab([r, g, b]: Rgb): Rgb {
  const f = (t: number) => (t > 216 / 24389 ? Math.cbrt(t) : (t * (24389 / 27) + 16) / 116);
  const x = f((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047);
  const y = f(0.2126729 * r + 0.7151522 * g + 0.072175 * b);
  const z = f((0.0193339 * r + 0.119192 * g + 0.9503041 * b) / 1.08883);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}
const distance = (a: string, b: string, m: number[]) => {
  const [p, q] = [lab(seen(linear(a), m)), lab(seen(linear(b), m))];
  return Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
};

const LITERAL = ['light', 'dark', 'print'] as const;
const TEXTS: (keyof Palette)[] = ['ink', 'muted', 'faultLine'];
const LINES: (keyof Palette)[] = ['doorLine', 'logicLine', 'sensorLine', 'wantedLine', 'faultLine', 'cursor', 'second'];

describe.each(LITERAL)('the look %s', (look) => {
  const p = paletteOf(look);
  it.each(TEXTS)('%s reads on the ground: 4.5 : 1', (role) =>
    expect(contrast(p[role], p.background)).toBeGreaterThanOrEqual(4.5),
  );
  it('text reads on doors and on steps', () => {
    expect(contrast(p.ink, p.door)).toBeGreaterThanOrEqual(4.5);
    expect(contrast(p.ink, p.on)).toBeGreaterThanOrEqual(4.5);
  });
  it.each(LINES)('the line %s shows on ground and lane: 3 : 1', (role) => {
    expect(contrast(p[role], p.background)).toBeGreaterThanOrEqual(3);
    expect(contrast(p[role], p.lane)).toBeGreaterThanOrEqual(3);
  });
});

describe.each(['light', 'dark'] as const)('under simulated colour blindness, %s', (look) => {
  const p = paletteOf(look);
  it.each(Object.keys(VISION))('%s tells doors, wanted and faulty apart', (vision) => {
    const m = VISION[vision]!;
    for (const [a, b] of [
      ['doorLine', 'wantedLine'],
      ['doorLine', 'faultLine'],
      ['wantedLine', 'faultLine'],
    ] as const) {
      expect(distance(p[a], p[b], m), `${a} / ${b}`).toBeGreaterThan(10);
    }
  });
});
