/** Hovers, signature help, inlay hints, lenses. Times are worked by hand beside each expectation. */
import { describe, expect, it } from 'vitest';
import { lenses } from '../../server/core/features/code-lens';
import { hoverAt } from '../../server/core/features/hover';
import { inlayHints } from '../../server/core/features/inlay-hints';
import type { HintOptions } from '../../server/core/features/inlay-hints';
import { signatureAt } from '../../server/core/features/signature-help';
import { atCursor, documentOf, LIFT } from './support';

function hover(marked: string): string | null {
  const { document, offset } = atCursor(marked);
  return hoverAt(document, offset, { causes: true })?.text ?? null;
}

/** The grain lift with a cursor put where `at` says. */
const lift = (at: string): string => LIFT.replace(at.replace('<|>', ''), at);

describe('hover', () => {
  it('of a door tells its movement from the trigger and why', () => {
    const text = hover(lift('door out<|>let'))!;
    // start at 50 ms, inlet_on at 100 ms, its TON runs out 1 s later and answers 50 ms after that: 1.15 s, outlet_on 1.2 s.
    // inlet_on (TP 2 s) ends at 2.1 s, TON off 2.15 s, TOF 3 s and response: 5.2 s; travel 400 ms.
    expect(text).toContain('| opens | fully open | closing | shut |');
    expect(text).toContain('| 1.2 s | 1.6 s | 5.2 s | 5.6 s |');
    expect(text).toContain('Counted from `full on`');
    expect(text).toContain('`outlet_on/TON` on at 1.15 s (preset 1 s + response 50 ms)');
    expect(text).toContain('`outlet` is shut at 5.6 s (travel 400 ms)');
  });

  it('of a door leaves the causes out where that is wished', () => {
    const { document, offset } = atCursor(lift('door out<|>let'));
    expect(hoverAt(document, offset, { causes: false })!.text).not.toContain('because');
  });

  it('shows the comment above a declaration, as written', () => {
    expect(hover(lift('door in<|>let'))).toContain('The upper lock\\.');
  });

  it('of a signal tells when it is on and what its timers have to spare', () => {
    const text = hover(lift('signal outlet_<|>on'))!;
    expect(text).toContain('| 1.2 s | 5.2 s | 4 s |');
    // the on-delay is fed 2 s by the pulse: 1 s more than its preset
    expect(text).toContain('| `outlet_on/TON` | 1 s | 2 s | 1 s |');
  });

  it('of a name is the same wherever the name stands', () => {
    expect(hover(lift('drive in<|>let'))).toBe(hover(lift('door in<|>let')));
  });

  it.each([
    ['do<|>or inlet', 'door NAME { … }'],
    ['tra<|>vel 400 ms }\n  door', 'Takes a time.'],
    ['pressure ab<|>ove', 'pressure above|below'],
    ['400 m<|>s }\n  door', 'millisecond'],
    ['T<|>ON(inlet_on', 'IEC 61131-3:2013'],
    ['over<|>lap(inlet', 'overlap(a: door, b: door): time'],
    ['let dw<|>ell', 'let dwell = 2 s'],
    ['chamber ho<|>pper', '| volume | 4 m3 |'],
  ])('at %s', (at, expected) => expect(hover(lift(at))).toContain(expected));

  it('is nothing on blanks, brackets and comments', () => {
    expect(hover(lift('# The <|>upper'))).toBeNull();
    expect(hover(lift('door inlet <|>{'))).toBeNull();
  });

  it('of a door in a rig that runs by itself counts from its first opening', () => {
    const text = LIFT.replace('full and not hold', 'not hold').replace('door inlet', 'door in<|>let');
    expect(hover(text)).toContain('Counted from `power on`');
    expect(hover(text)).toContain('| 0 s | 400 ms | 2 s | 2.4 s |');
  });

  it('of a door in a rig without a trigger says so', () => {
    const text = LIFT.replace('full and not hold', 'full and not full').replace('door inlet', 'door in<|>let');
    expect(hover(text)).toContain('No sensor starts a stroke');
  });

  it('tells no times of a rig whose control could not be read', () => {
    const text = lift('door in<|>let').replace('TP(start, dwell)', 'TP(start, dwel)');
    expect(hover(text)).toContain('mistakes in its control');
    expect(hover(text)).not.toContain('| opens |');
  });

  it('takes no markup from the text', () => {
    const text = hover(
      LIFT.replace('# The upper lock.', '# <b>bold</b> [x](y)').replace('door inlet', 'door in<|>let'),
    )!;
    expect(text).toContain('\\<b\\>bold');
    expect(text).toContain('\\[x\\]\\(y\\)');
  });
});

describe('hover with tolerances and flow', () => {
  it('adds the widest range of each moment', () => {
    const text = hover(lift('door in<|>let').replace('response 50 ms', 'response 50 ms +- 10 ms'))!;
    // start and inlet_on answer after 40 to 60 ms each: 80 to 120 ms; the pulse of 2 s ends 2 s after it begins
    expect(text).toContain('| 100 ms | 500 ms | 2.1 s | 2.5 s |');
    expect(text).toContain('| 80 ms to 120 ms | 480 ms to 520 ms | 2.08 s to 2.12 s | 2.48 s to 2.52 s |');
  });

  it('tells the contents of a chamber and what a stroke does to it', () => {
    const text = hover(lift('chamber b<|>in'))!;
    // ideal air at 293.15 K or so and 1.02 bar: about 1.2 kg/m3, 0.6 kg in 500 L
    expect(text).toMatch(/\| mass \| 0\.[56]\d* kg \|/);
    expect(text).toMatch(/One stroke brings [\d.]+ k?g/);
  });

  it('of a chamber without a medium tells only what is written', () => {
    const text = hover(lift('chamber b<|>in').replace('  medium air\n', ''))!;
    expect(text).toContain('| volume | 500 L |');
    expect(text).not.toContain('One stroke');
  });
});

describe('signature help', () => {
  const signature = (line: string) => {
    const { document, offset } = atCursor(LIFT.replace(/\}\n$/, `  ${line}\n}\n`));
    const found = signatureAt(document, offset);
    return found && { label: found.label, active: found.active };
  };

  it.each([
    ['signal x = TON(<|>', 'TON(IN, PT)', 0],
    ['signal x = TON(start, <|>', 'TON(IN, PT)', 1],
    ['signal x = TOF(TON(start, 1 s), <|>)', 'TOF(IN, PT)', 1],
    ['signal x = TOF(TON(start, <|>1 s), 2 s)', 'TON(IN, PT)', 1],
    ['signal x = TON((start or <|>', 'TON(IN, PT)', 0],
    ['require gap(inlet, <|>', 'gap(a: door, b: door)', 1],
    ['require order(inlet opens, outlet opens, <|>', 'order(event: door events …)', 0],
  ])('%s', (line, label, active) => expect(signature(line)).toEqual({ label, active }));

  it('is nothing outside calls', () => {
    expect(signature('signal x = TON(start, 1 s)<|>')).toBeNull();
    expect(signature('# TON(<|>')).toBeNull();
  });

  it('knows parts', () => {
    const { document, offset } = atCursor('rig r {\n  part lock(speed, at) { }\n  place west = lock(1 s, <|>)\n}\n');
    expect(signatureAt(document, offset)).toMatchObject({ label: 'lock(speed, at)', active: 1 });
  });
});

describe('inlay hints', () => {
  const all = { start: 0, end: LIFT.length };

  it('stand at the ends of drives and timer lines, with cumulative times', () => {
    const hints = inlayHints(documentOf(LIFT), all, { drives: true, timers: true, requirements: false });
    const rows = hints.map((h) => [
      LIFT.slice(LIFT.lastIndexOf('\n', h.at - 1) + 1, h.at)
        .trim()
        .split(' = ')[0],
      h.label,
    ]);
    expect(rows).toEqual([
      ['signal inlet_on', '100 ms – 2.1 s'],
      ['signal outlet_on', '1.2 s – 5.2 s'],
      // on with inlet_on 50 ms later, off 12 s after its end (2.1 s) and a response
      ['signal hold', '150 ms – 14.15 s'],
      ['drive inlet', '100 ms – 2.5 s'],
      ['drive outlet', '1.2 s – 5.6 s'],
    ]);
  });

  it('can be left out by kind', () => {
    const hints = (options: HintOptions) => inlayHints(documentOf(LIFT), all, options).length;
    expect([
      hints({ drives: true, timers: false, requirements: false }),
      hints({ drives: false, timers: true, requirements: false }),
    ]).toEqual([2, 3]);
    expect(hints({ drives: false, timers: false, requirements: false })).toBe(0);
  });

  it('are worked out for the asked lines only', () => {
    const start = LIFT.indexOf('drive inlet');
    expect(
      inlayHints(documentOf(LIFT), { start, end: start + 5 }, { drives: true, timers: true, requirements: false }),
    ).toHaveLength(1);
  });

  it('give what a requirement found and has to spare', () => {
    const hints = inlayHints(documentOf(LIFT), all, { drives: false, timers: false, requirements: true });
    // inlet fully open 0.5–2.1 s, outlet fully open from 1.6 s: 500 ms; hold-off gives 14.15 s, 4.15 s above 10 s
    expect(hints.map((h) => h.label)).toEqual(['500 ms, 400 ms to spare', '14.15 s, 4.15 s to spare']);
    const failing = LIFT.replace('>= 100 ms', '>= 600 ms');
    const [first] = inlayHints(
      documentOf(failing),
      { start: 0, end: failing.length },
      { drives: false, timers: false, requirements: true },
    );
    expect(first!.label).toBe('500 ms, missed by 100 ms');
  });

  it('give that with the least to spare for a part that is placed several times, and all of them on pointing at it', () => {
    const text = `part window(full, open) {
  signal out = TP(full, open)
  require pulse(out) >= 500 ms
}
rig twin {
  medium air
  chamber hall { volume 1 m3  pressure 1 bar }
  chamber bank { volume 1 m3  pressure 1 bar }
  door west { pocket 5 L  travel 100 ms }
  stack hall > west > bank
  controller { response 0 s }
  sensor full on hall { pressure above 2 bar  clears below 1.5 bar }
  place long = window(full, 900 ms)
  place short = window(full, 700 ms)
  drive west = long.out and short.out
}`;
    const [hint] = inlayHints(
      documentOf(text),
      { start: 0, end: text.length },
      { drives: false, timers: false, requirements: true },
    );
    expect(hint!.label).toBe('least of 2: 700 ms, 200 ms to spare');
    expect(hint!.explanation.replaceAll('\\', '').split('\n')).toEqual([
      '- pulse(out) >= 500 ms (short): 700 ms, 200 ms to spare',
      '- pulse(out) >= 500 ms (long): 900 ms, 400 ms to spare',
    ]);
    const hovered = hoverAt(documentOf(text), text.indexOf('pulse('), { causes: false })!.text;
    expect(hovered).toContain('200 ms to spare');
    expect(hovered).toContain('400 ms to spare');
  });

  it('say so where a door never opens', () => {
    const text = LIFT.replace('TON(inlet_on, 1 s)', 'TON(inlet_on, 3 s)');
    const labels = inlayHints(documentOf(text), all, { drives: true, timers: false, requirements: false }).map(
      (h) => h.label,
    );
    expect(labels).toEqual(['100 ms – 2.5 s', 'never opens']);
  });
});

describe('lenses', () => {
  it('tell repeat and requirements', () => {
    const [lens, prove] = lenses(documentOf(LIFT));
    expect(prove).toMatchObject({ kind: 'prove', rig: 'grain_lift', start: lens!.start });
    // hold goes off at 14.15 s, start answers 50 ms later, inlet_on again: 14.25 s; first opening at 100 ms
    expect(lens!.title).toMatch(
      /^repeats every 14\.15 s · moves [\d.]+ k?g a stroke · 2 of 2 requirements met · repeat: 4.15 s to spare/,
    );
    expect(LIFT.slice(lens!.start, lens!.end)).toBe('rig grain_lift');
  });

  it('stay where they are while the text is broken', () => {
    const whole = lenses(documentOf(LIFT));
    for (let cut = LIFT.indexOf('{') + 1; cut < LIFT.length; cut += 37) {
      const now = lenses(documentOf(LIFT.slice(0, cut)));
      expect(now.map((l) => [l.start, l.end])).toEqual(whole.map((l) => [l.start, l.end]));
    }
  });
});
