/** Columns of two states: where on its way a door is when its column changes. Moments by hand from the rig below. */
import { describe, expect, it } from 'vitest';
import { compareLog } from '../../server/core/readings/compare';
import { withPlaces } from '../../server/core/readings/change-place';
import { diagnose } from '../../server/core/readings/diagnose';
import { fitRig } from '../../server/core/readings/fit';
import { readLog } from '../../server/core/readings/log-csv';
import { stimulusOf } from '../../server/core/readings/stimulus';
import { analyseRig } from '../../server/core/run/analyse';
import { rigOf } from '../support/rigs';

const rigText = (doors: string, drives: string): string => `rig press_room {
  chamber bin {}
  chamber drum {}
${doors}
  switch go = off
${drives}
}`;

const THREE = rigText(
  `  door flap { travel 400 ms }
  door gate { travel 400 ms }
  door lid { opens_in 400 ms  closes_in 600 ms }
  stack bin > flap > gate > lid > drum`,
  `  signal flap_on = TOF(go, 700 ms)
  signal gate_on = TON(go, 800 ms)
  signal lid_on = TOF(gate_on, 1.2 s)
  drive flap = flap_on
  drive gate = gate_on
  drive lid = lid_on`,
);
/** go is on from 2 s to 5 s, from 9 s to 12 s, from 16 s to 19 s: when drives go on and off after each. */
const DRIVEN: Readonly<Record<string, readonly [on: number, off: number]>> = {
  flap: [0, 3.7],
  gate: [0.8, 3],
  lid: [0.8, 4.2],
};
const STARTS = [2, 9, 16];
const TAKES: Readonly<Record<string, readonly [number, number]>> = {
  flap: [0.4, 0.4],
  gate: [0.4, 0.4],
  lid: [0.4, 0.6],
};

/** Part of the way, opening and shutting, after which a column changes. */
const PLACES = { half: [0.5, 0.5], seat: [0, 1], 'open end': [1, 0], drive: [0, 0] } as const;

function logOf(
  place: keyof typeof PLACES,
  doors: readonly string[],
  late: Readonly<Record<string, number>> = {},
): string {
  const [opens, closes] = PLACES[place];
  const rows = Array.from({ length: 1200 }, (_, k) => {
    const t = k / 50;
    const since = t - (STARTS.filter((s) => s <= t).at(-1) ?? 100);
    const states = doors.map((door) => {
      const [on, off] = DRIVEN[door]!;
      const [up, down] = TAKES[door]!;
      return since >= on + opens * up && since < off + (late[door] ?? 0) + closes * down ? 1 : 0;
    });
    return [t.toFixed(2), since >= 0 && since < 3 ? 1 : 0, ...states].join();
  });
  return [`time [s],go,${doors.join()}`, ...rows].join('\n');
}

function read(rigWords: string, log: string) {
  const facts = analyseRig(rigOf(rigWords));
  const reading = readLog(facts.rig, log);
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  const stimulus = stimulusOf(facts.rig, facts.timing, reading.log, null)!;
  return { facts, stimulus, read: reading.log, log: withPlaces(facts, reading.log, stimulus) };
}

const ALL = ['flap', 'gate', 'lid'];
const WORDS = {
  half: [],
  seat: ['The columns of flap, gate, lid change as the door leaves and reaches its seat; they are read so.'],
  'open end': ['The columns of flap, gate, lid change at the open end of the travel; they are read so.'],
  drive: ['The columns of flap, gate, lid change with the drive, before the door moves; they are read so.'],
};
const places = Object.keys(PLACES) as (keyof typeof PLACES)[];

describe.each(places)('columns that change by %s', (place) => {
  it('are found to do so, and a rig as designed is within tolerance and called so', () => {
    const { facts, log, stimulus } = read(THREE, logOf(place, ALL));
    expect(log.exclusions).toEqual(WORDS[place]);
    const compared = compareLog(facts, log, stimulus);
    expect(compared.edges).toHaveLength(18);
    expect(compared.summary).toBe('All 18 edges are within tolerance.');
    expect(diagnose(facts.rig, log, stimulus).ranking[0]!.modes).toEqual(['as designed']);
  });

  it('hide no door that shuts 300 ms late: named by its preset, and fitted', () => {
    const { facts, log, stimulus, read: plain } = read(THREE, logOf(place, ALL, { flap: 0.3 }));
    const compared = compareLog(facts, log, stimulus);
    expect(compared.edges.filter((e) => !e.within).map((e) => [e.name, e.open])).toEqual([
      ['flap', false],
      ['flap', false],
      ['flap', false],
    ]);
    // To the step of the log, 20 ms.
    expect(diagnose(facts.rig, log, stimulus).ranking[0]!.modes[0]).toMatch(
      /^preset of flap_on (980 ms|990 ms|1 s|1\.01 s|1\.02 s) instead of 700 ms$/,
    );
    const { properties } = fitRig(facts, plain, ['presets']);
    expect(properties.find((p) => p.name === 'flap_on')!.fitted.value / 1000).toBeCloseTo(1000, -1.3);
  });
});

describe('one door alone', () => {
  const ONE = rigText('  door flap { travel 400 ms }\n  stack bin > flap > drum', '  drive flap = go');
  it('may be read anywhere on its way: what is off by half of the travel may be its switch', () => {
    for (const place of places) {
      const [opens, closes] = PLACES[place];
      const rows = Array.from({ length: 600 }, (_, k) => {
        const t = k / 50;
        const on = t >= 2 && t < 5;
        return [t.toFixed(2), on ? 1 : 0, t >= 2 + opens * 0.4 && t < 5 + closes * 0.4 ? 1 : 0].join();
      });
      const { facts, log, stimulus } = read(ONE, ['time [s],go,flap', ...rows].join('\n'));
      expect(compareLog(facts, log, stimulus).within).toBe(true);
      const open =
        'The columns of flap do not show where on the way they change: an edge may be off by half of the travel.';
      expect(log.exclusions).toEqual(place === 'half' ? [] : [open]);
    }
  });
  it('deviates where it is off by more', () => {
    const rows = Array.from({ length: 600 }, (_, k) => {
      const t = k / 50;
      return [t.toFixed(2), t >= 2 && t < 5 ? 1 : 0, t >= 2 && t < 5.8 ? 1 : 0].join();
    });
    const { facts, log, stimulus } = read(ONE, ['time [s],go,flap', ...rows].join('\n'));
    expect(compareLog(facts, log, stimulus).edges.map((e) => e.within)).toEqual([true, false]);
  });
});
