import { describe, expect, it } from 'vitest';
import { sequenceTimers } from '../../server/core/choose/sequence-timers';
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
function generated(controller: string, plan = PLAN): string {
  const { rig } = look(rigWith(controller, plan)).contexts[0]!;
  const made = sequenceTimers(rig, rig.sequences[0]!);
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
        'signal plan_run = TP(plan_start, 1 s)',
        // 5 s less the run of 1 s and three responses: of busy, of start, of run.
        'signal plan_busy = TOF(plan_run, 3.85 s)',
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
    const { rig } = look(rigWith('response 50 ms', `  signal plan_run = ready\n${PLAN}`)).contexts[0]!;
    const result = sequenceTimers(rig, rig.sequences[0]!);
    expect(result.ok && result.statements[0]).toBe('signal plan2_start = ready and not plan2_busy');
  });
});
