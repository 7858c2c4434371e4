import { describe, expect, it } from 'vitest';
import { sequenceTimers } from '../../server/core/choose/sequence-timers';
import { seededRandom } from '../../server/core/timing/tolerance';
import { codesOf, look } from '../checks/rigs';

const rigWith = (controller: string, body: string): string => `rig bank {
  chamber receiver  { volume 6 m3 }
  chamber store     { volume 2 m3 }
  door upper   { travel 100 ms }
  door middle  { travel 100 ms }
  door lower   { travel 100 ms }
  stack receiver > upper > middle > lower > store
  controller { ${controller} }
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }
${body}
}
`;

const PLAN = `  sequence plan on ready {
    at 0 s     open upper, middle
    at 1.65 s  close upper
    at 2.1 s   open lower
    at 2.65 s  close middle
    at 3.75 s  close lower
    at 4 s     open upper
    at 5 s     close upper
    repeat after 12 s
  }`;

/** The rig with timers in place of its sequence; the sequence kept as the intent that they are compared with. */
function generated(controller: string, plan = PLAN, blocks: readonly string[] | null = null): string {
  const { rig } = look(rigWith(controller, plan)).contexts[0]!;
  const made = sequenceTimers(rig, rig.sequences[0]!, blocks);
  if (!made.ok) throw new Error(made.reason);
  return rigWith(controller, [...made.statements.map((s) => `  ${s}`), plan].join('\n'));
}

describe.each(['response 0 s', 'response 50 ms', 'response 7 ms', 'scan 10 ms', 'scan 50 ms'])(
  'timers under %s',
  (controller) => {
    const text = generated(controller);
    const looked = look(text);
    const [stroke] = looked.contexts[0]!.facts.timing.strokes;

    it('bring about the windows, to the microsecond, from the first opening', () => {
      expect(looked.mistakes).toEqual([]);
      const commanded = stroke!.doors.map((d) => d.windows.flatMap((w) => w.commandedParts));
      const zero = commanded[0]![0]!.from;
      const seconds = commanded.map((list) => list.map((i) => [(i.from - zero) / 1e6, (i.to! - zero) / 1e6]));
      expect(seconds).toEqual([
        [
          [0, 1.65],
          [4, 5],
        ],
        [[0, 2.65]],
        [[2.1, 3.75]],
      ]);
    });

    it('repeat at the wanted interval', () => expect(stroke!.repeat).toBe(12_000_000));

    it('follow the sequence by its own check', () => {
      const codes = codesOf(looked);
      expect(codes).not.toContain('door/off-sequence');
      expect(codes).not.toContain('cycle/repeat-differs');
    });
  },
);

describe('sequenceTimers', () => {
  const made = (plan: string, controller = 'response 50 ms') => {
    const { rig } = look(rigWith(controller, plan)).contexts[0]!;
    return sequenceTimers(rig, rig.sequences[0]!);
  };

  it('writes what a person would', () => {
    expect(
      made('  sequence plan on ready {\n    at 0 s  open upper\n    at 1 s  close upper\n    repeat after 5 s\n  }'),
    ).toEqual({
      ok: true,
      statements: [
        'signal plan_start = ready and not plan_busy',
        // 5 s less two responses: of busy and of start.
        'signal plan_busy = TP(plan_start, 4.9 s)',
        'signal plan_upper = TP(plan_start, 1 s)',
        'drive upper = plan_upper',
      ],
    });
  });

  it('says what it cannot do', () => {
    const soon =
      '  sequence plan on ready {\n    at 0 s  open upper\n    at 60 ms  open lower\n    at 1 s  close upper, lower\n  }';
    expect(made(soon)).toEqual({
      ok: false,
      reason: 'a window 60 ms after the start is sooner than the elements can answer',
    });
    const quick =
      '  sequence plan on ready {\n    at 0 s  open upper\n    at 1 s  close upper\n    repeat after 1.1 s\n  }';
    expect(made(quick)).toMatchObject({
      ok: false,
      reason: 'the sequence repeats sooner than the elements can answer',
    });
    expect(made('  sequence plan {\n    at 0 s  open upper\n    at 1 s  close upper\n  }')).toMatchObject({
      ok: false,
    });
    expect(made('  sequence plan on ready {\n    at 0 s  open upper\n  }')).toMatchObject({ ok: false });
  });

  it('keeps clear of names that are there', () => {
    const { rig } = look(rigWith('response 50 ms', `  signal plan_busy = ready\n${PLAN}`)).contexts[0]!;
    const result = sequenceTimers(rig, rig.sequences[0]!);
    expect(result.ok && result.statements[0]).toBe('signal plan2_start = ready and not plan2_busy');
  });
});

/** Two or three doors with windows in whole multiples of 10 ms, some twice, at least 200 ms long and apart; repeating once all is shut. */
function randomPlan(random: () => number): {
  text: string;
  windows: Map<string, (readonly [number, number])[]>;
  repeat: number;
} {
  const whole = (low: number, high: number): number => low + 10 * Math.floor((random() * (high - low)) / 10);
  const doors = ['upper', 'middle', 'lower'].slice(0, random() < 0.3 ? 2 : 3);
  const windows = new Map<string, (readonly [number, number])[]>();
  doors.forEach((door, k) => {
    const from = k === 0 || random() < 0.2 ? 0 : whole(300, 4_000);
    const to = from + whole(200, 3_000);
    const again = to + whole(300, 1_500);
    windows.set(
      door,
      random() < 0.2
        ? [
            [from, to],
            [again, again + whole(200, 1_000)],
          ]
        : [[from, to]],
    );
  });
  const last = Math.max(...[...windows.values()].flat().map(([, to]) => to));
  const repeat = last + whole(400, 9_000);
  const steps = [...windows].flatMap(([door, list]) =>
    list.flatMap(([from, to]) => [`    at ${from} ms  open ${door}`, `    at ${to} ms  close ${door}`]),
  );
  return {
    text: `  sequence plan on ready {\n${steps.join('\n')}\n    repeat after ${repeat} ms\n  }`,
    windows,
    repeat,
  };
}

const SEED = Number(process.env['WIRE_SEED'] ?? 5);
const PLANS = Number(process.env['WIRE_PLANS'] ?? 40);

describe(`${PLANS} random sequences, seed ${SEED}`, () => {
  it.each([
    ['TP', 'TON'],
    ['TON', 'TOF'],
  ])('are followed with %s and %s alone', { timeout: 600_000 }, (...blocks) => {
    const random = seededRandom(SEED);
    let refused = 0;
    for (let k = 0; k < PLANS; k++) {
      const plan = randomPlan(random);
      const controller = ['response 0 s', 'response 30 ms', 'response 7 ms', 'scan 10 ms', 'scan 20 ms'][k % 5]!;
      // A scan sees changes at its own moments only.
      const within = controller.startsWith('scan') ? Number(/\d+/.exec(controller)![0]) * 1000 : 0;
      let text;
      try {
        text = generated(controller, plan.text, blocks);
      } catch {
        refused++;
        continue;
      }
      const looked = look(text);
      expect(looked.mistakes, text).toEqual([]);
      const { timing, rig } = looked.contexts[0]!.facts;
      const [stroke] = timing.strokes;
      const found = stroke!.doors.map((d) => d.windows.flatMap((w) => w.commandedParts));
      const zero = Math.min(...found.flat().map((i) => i.from));
      const start = Math.min(...[...plan.windows.values()].flat().map(([from]) => from)) * 1000;
      for (const [door, list] of plan.windows) {
        const parts = found[rig.doors.findIndex((d) => d.name === door)]!;
        expect(parts.length, text).toBe(list.length);
        list.forEach(([from, to], i) => {
          expect(Math.abs(parts[i]!.from - zero + start - from * 1000), text).toBeLessThanOrEqual(within);
          expect(Math.abs(parts[i]!.to! - zero + start - to * 1000), text).toBeLessThanOrEqual(within);
        });
      }
      expect(Math.abs(stroke!.repeat! - plan.repeat * 1000), text).toBeLessThanOrEqual(within);
      const used = ['TON', 'TOF', 'TP', 'R_TRIG'].filter((b) => text.includes(`${b}(`));
      expect(used, text).toEqual(used.filter((b) => blocks.includes(b)));
    }
    expect(refused).toBeLessThan(PLANS / 10);
  });
});
