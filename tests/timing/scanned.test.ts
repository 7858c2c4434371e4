/** Scanned controllers: inputs are read at scans only, and sequences count whole scans. */
import { describe, expect, it } from 'vitest';
import { analyseTiming } from '../../server/core/timing/analyse';
import { openStretches } from '../../server/core/timing/windows';
import { traceScenario } from '../../server/core/timing/scenario';
import { rigOf } from '../support/rigs';

const stand = (scan: string, body: string): string => `rig stand {
  medium air
  chamber pit  { volume 1 m3  pressure 1 bar }
  chamber roof { volume 1 m3  pressure 1 bar }
  door inlet  { pocket 20 L  travel 20 ms }
  door outlet { pocket 20 L  travel 20 ms }
  stack pit > inlet > outlet > roof
  controller { scan ${scan} }
  sensor wet on pit { pressure above 2 bar  clears below 1.5 bar }
  switch hand = off
${body}
}`;
const MS = 1_000;

describe('inputs of a scanned controller', () => {
  it('are read at scans only, also where a drive is nothing but their name', () => {
    const rig = rigOf(
      stand(
        '80 ms',
        `  drive inlet = hand
  scenario s {
    at 50 ms   switch hand on
    at 200 ms  switch hand off
    at 250 ms  switch hand on
    at 300 ms  switch hand off
    for 1 s
  }`,
      ),
    );
    const trace = traceScenario(rig, rig.scenarios[0]!, 1_000 * MS);
    // Read at 80 ms, off again at 240 ms; what is on between two scans only is never seen.
    const [stretch, ...more] = openStretches(trace.doors[0]!, trace.start, trace.end);
    expect(stretch!.commanded).toEqual([{ from: 80 * MS, to: 240 * MS }]);
    expect(more).toEqual([]);
  });

  it('in relay style drive a door at once', () => {
    const text = stand('80 ms', '  drive inlet = hand\n  scenario s { at 50 ms switch hand on  for 1 s }');
    const rig = rigOf(text.replace('scan 80 ms', 'response 80 ms'));
    expect(traceScenario(rig, rig.scenarios[0]!, 1_000 * MS).doors[0]!.moves[0]!.t).toBe(50 * MS);
  });
});

/** Driven times of both doors in the first two strokes, in milliseconds. */
function driven(scan: string, steps: string): { times: string[][]; repeat: number | null } {
  const rig = rigOf(stand(scan, `  sequence turn on wet {\n${steps}\n  }`));
  const [stroke] = analyseTiming(rig).strokes;
  const times = stroke!.trace.doors.map((track) =>
    openStretches(track, stroke!.trace.start, stroke!.trace.end)
      .slice(0, 2)
      .flatMap((s) => s.commanded.map((c) => `${c.from / MS}..${c.to === null ? '' : c.to / MS}`)),
  );
  return { times, repeat: stroke!.repeat === null ? null : stroke!.repeat / MS };
}

describe('sequences of a scanned controller', () => {
  it('repeat after whole scans, with every step on the scan that is due', () => {
    const found = driven(
      '40 ms',
      '    at 0 s open inlet\n    at 800 ms close inlet\n    at 1 s open outlet\n    at 1.49 s close outlet\n    repeat after 2 s',
    );
    // 1.49 s is seen at 38 × 40 ms.
    expect(found).toEqual({
      times: [
        ['0..800', '2000..2800'],
        ['1000..1520', '3000..3520'],
      ],
      repeat: 2000,
    });
  });

  it('of a time that is no whole number of scans take the next one', () => {
    const found = driven('30 ms', '    at 0 s open inlet\n    at 500 ms close inlet\n    repeat after 1 s');
    expect(found).toEqual({ times: [['0..510', '1020..1530'], []], repeat: 1020 });
  });

  it('keep open through the last scan what closes as the stroke ends', () => {
    const found = driven(
      '50 ms',
      '    at 0 s open inlet\n    at 400 ms close inlet\n    at 600 ms open outlet\n    at 1 s close outlet\n    repeat after 1 s',
    );
    expect(found).toEqual({
      times: [
        ['0..400', '1000..1400'],
        ['600..1000', '1600..2000'],
      ],
      repeat: 1000,
    });
  });

  it('may open in the last scan', () => {
    const found = driven(
      '50 ms',
      '    at 0 s open inlet\n    at 400 ms close inlet\n    at 920 ms open outlet\n    at 1 s close outlet\n    repeat after 1 s',
    );
    expect(found.times[1]).toEqual(['950..1000', '1950..2000']);
  });
});
