import { describe, expect, it } from 'vitest';
import { readLog } from '../../server/core/readings/log-csv';
import { rigOf } from '../support/rigs';

const RIG = rigOf(`rig bench {
  medium air
  chamber source { volume 1 m3  pressure 3 bar }
  chamber store  { volume 500 L  pressure 1 bar }
  door upper { pocket 20 L  travel 400 ms  bore 20 mm }
  door lower { pocket 20 L  travel 400 ms  bore 20 mm }
  stack source > upper > lower > store
}`);

const problems = (text: string): string[] => {
  const reading = readLog(RIG, text);
  return reading.ok ? [] : reading.problems.map((p) => `${p.line}: ${p.message}`);
};

describe('log of a built rig', () => {
  it('reads times, doors by word or number, and readings in their units', () => {
    const reading = readLog(
      RIG,
      'time [ms],upper,store pressure [barg],source mass [g]\n0,shut,0,3500\n100,moving,,3490\n200,open,0.1,3480\n',
    );
    if (!reading.ok) throw new Error(reading.problems[0].message);
    const { log } = reading;
    expect(log.times).toEqual([0, 100_000, 200_000]);
    expect(log.doors).toEqual([{ door: 0, openings: [0, 0.5, 1] }]);
    expect(log.readings[0]).toMatchObject({ chamber: 1, sensed: 'pressure' });
    expect(log.readings[0].values[0]).toBeCloseTo(101_325, 6);
    expect(log.readings[0].values[1]).toBeNull();
    expect(log.readings[1].values[2]).toBeCloseTo(3.48, 12);
    expect(log.exclusions).toEqual(['1 readings of `store pressure [barg]` were not taken and are left out.']);
  });

  it('reads semicolons with decimal commas, quotes, comments and a byte order mark', () => {
    const reading = readLog(RIG, '\uFEFF# bench, second run\n"time [s]";"lower"\n0;0\n0,5;0,25\n1;1\n');
    expect(reading.ok && reading.log.doors[0].openings).toEqual([0, 0.25, 1]);
  });

  it('takes a load cell below zero and NaN as readings, and ignores other columns by name', () => {
    const reading = readLog(RIG, 'time [s],store mass [kg],remark 17\n0,-0.2,hot\n1,NaN,\n2,0.1,x\n');
    if (!reading.ok) throw new Error(reading.problems[0].message);
    expect(reading.log.readings[0].values).toEqual([-0.2, null, 0.1]);
    expect(reading.log.exclusions.join(' ')).toContain('`remark 17` names nothing of the rig and is ignored.');
  });

  it('takes the words of a heading in either order', () => {
    const reading = readLog(RIG, 'time [s],door upper,pressure store [bar]\n0,0,1\n1,0,1\n2,0,1\n');
    expect(reading.ok && [reading.log.doors[0].door, reading.log.readings[0].chamber]).toEqual([0, 1]);
  });

  it('states gaps: long stretches in which something happened unseen', () => {
    const rows = [0, 1, 2, 3, 4, 60, 61].map((t) => `${t},${t === 4 ? 1 : 0}`).join('\n');
    const reading = readLog(RIG, `time [s],upper\n${rows}`);
    expect(reading.ok && reading.log.gaps).toEqual([{ from: 4e6, to: 60e6 }]);
  });

  it('takes a long stretch with shut doors and even readings as quiet, not as a gap', () => {
    const rows = [0, 1, 2, 3, 4, 60, 61].map((t) => `${t},0,${(1 + 0.01 * t).toFixed(2)}`).join('\n');
    const jump = rows.replace('60,0,1.60', '60,0,9');
    const gaps = (text: string): number => {
      const reading = readLog(RIG, `time [s],upper,store pressure [bar]\n${text}`);
      return reading.ok ? reading.log.gaps.length : -1;
    };
    expect(gaps(rows.replace('60,0,1.60', '60,0,1.05').replace('61,0,1.61', '61,0,1.06'))).toBe(0);
    expect(gaps(jump)).toBe(1);
  });

  it.each([
    ['', '1: The log is empty.'],
    ['upper\n0\n', '1: The log needs one column `time [s]`; it has none.'],
    ['time,upper\n0,0', '1: The column `time` has no unit; write for instance'],
    ['time [bar],upper\n0,0', '1: The column `time [bar]` is '],
    ['time [s],uper\n0,0', '1: The column `uper` names no door and no chamber of the rig. Did you mean upper?'],
    [
      'time [s],store\n0,0',
      '1: The column `store` must say what of the chamber was read: mass, pressure, density or level.',
    ],
    ['time [s],store pressure [kg]\n0,0', '1: The column `store pressure [kg]` is '],
    ['time [s],store pressure [baar]\n0,0', '1: The unit of the column `store pressure [baar]` is not known; '],
    ['time [s],upper,upper\n0,0,0', '1: The column `upper` stands twice.'],
    ['time [s],upper\n0,0\n1\n', '3: The line has 1 cells where the heading has 2.'],
    ['time [s],upper\n0,0\n1,ajar\n', '3: `ajar` in the column `upper` is no number.'],
    ['time [s],upper\n0,0\n1,1.4\n', '3: `1.4` in the column `upper` is no opening between 0 (shut) and 1 (open).'],
    [
      'time [s],store pressure [bar]\n0,1\n1,-2\n',
      '3: `-2` in the column `store pressure [bar]` is below zero (absolute).',
    ],
    ['time [s],upper\n0,0\n2,0\n1,0\n', '4: The clock goes back: 1 s comes after 2 s.'],
    ['time [s],upper\n0,0\n2,0\n2,0\n', '4: The clock stands still: 2 s comes after 2 s.'],
    ['time [s],upper\n0,0\n2,0\n', '2: The log has 2 lines of readings; at least 3 are needed.'],
  ])('%j: %s', (text, message) => {
    const [first] = problems(text);
    expect(first.slice(0, message.length)).toBe(message);
  });
});
