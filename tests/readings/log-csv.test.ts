import { describe, expect, it } from 'vitest';
import { clockTime, dateText } from '../../server/core/readings/cells';
import { LogReader, readLog } from '../../server/core/readings/log-csv';
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
    expect([...log.times]).toEqual([0, 100_000, 200_000]);
    expect(log.doors.map((d) => [d.door, [...d.openings], d.isStates])).toEqual([[0, [0, 0.5, 1], true]]);
    expect(log.readings[0]).toMatchObject({ chamber: 1, sensed: 'pressure' });
    expect(log.readings[0].values[0]).toBeCloseTo(101_325, 6);
    expect(log.readings[0].values[1]).toBeNaN();
    expect(log.readings[1].values[2]).toBeCloseTo(3.48, 12);
    expect(log.exclusions).toEqual(['1 reading of `store pressure [barg]` was not taken and is left out.']);
  });

  it('reads semicolons with decimal commas, quotes, comments and a byte order mark', () => {
    const reading = readLog(RIG, '\uFEFF# bench, second run\n"time [s]";"lower"\n0;0\n0,5;0,25\n1;1\n');
    expect(reading.ok && [...reading.log.doors[0].openings]).toEqual([0, 0.25, 1]);
  });

  it('takes a load cell below zero and NaN as readings, and ignores other columns by name', () => {
    const reading = readLog(RIG, 'time [s],store mass [kg],remark 17\n0,-0.2,hot\n1,NaN,\n2,0.1,x\n');
    if (!reading.ok) throw new Error(reading.problems[0].message);
    expect([...reading.log.readings[0].values]).toEqual([-0.2, NaN, 0.1]);
    expect(reading.log.exclusions.join(' ')).toContain('`remark 17` names nothing of the rig and is ignored.');
  });

  it('takes the words of a heading in either order', () => {
    const reading = readLog(RIG, 'time [s],door upper,pressure store [bar]\n0,0,1\n1,0,1\n2,0,1\n');
    expect(reading.ok && [reading.log.doors[0].door, reading.log.readings[0].chamber]).toEqual([0, 1]);
  });

  it.each([
    ['units behind the name', 'time_ms,upper_pos,store_pressure_bar\n0,0,1\n50,0.5,1\n100,1,1\n'],
    ['units in a second line', 'time,upper,store pressure\ns,%,bar\n0,0,1\n0.05,50,1\n0.1,100,1\n'],
    ['quoted decimal commas', 'time [s],upper,store pressure [bar]\n"0,0","0,0",1\n"0,05","0,5",1\n"0,1",1,1\n'],
    ['a stated separator', 'sep=;\ntime [s];upper;store pressure [bar]\n0;0;1\n0,05;0,5;1\n0,1;1;1\n'],
    ['carriage returns alone', 'time [s],upper,store pressure [bar]\r0,0,1\r0.05,0.5,1\r0.1,1,1\r'],
    ['tabs and other case', 'Time (s)\tUPPER [%]\tStore Pressure (bar)\n0\t0\t1\n0,05\t50\t1\n0,1\t100\t1\n'],
  ])('reads a log with %s', (_, text) => {
    const reading = readLog(RIG, text);
    if (!reading.ok) throw new Error(reading.problems[0].message);
    const { times, doors, readings } = reading.log;
    expect([...times]).toEqual([0, 50_000, 100_000]);
    expect([...doors[0].openings]).toEqual([0, 0.5, 1]);
    expect([...readings[0].values]).toEqual([1e5, 1e5, 1e5]);
  });

  it('reads 100,000 lines and loses none', () => {
    const rows = Array.from({ length: 100_000 }, (_, k) => `${(k / 100).toFixed(2)},${k % 2},1`);
    const reading = readLog(RIG, `time [s],upper,store pressure [bar]\n${rows.join('\n')}\n`);
    expect(reading.ok && reading.log.times.length).toBe(100_000);
  });

  it.each([
    ['06:00:00.000', '06:00:00.050', '06:00:00.100'],
    ['2026-03-01T06:00:00.000Z', '2026-03-01T06:00:00.050Z', '2026-03-01 06:00:00.100+00:00'],
    ['23:59:59.950', '00:00:00.000', '00:00:00.050'],
  ])('reads clock times and ISO 8601, over midnight: %s', (...clock) => {
    const reading = readLog(RIG, `time,upper\r\n${clock.map((c) => `${c},0`).join('\r\n')}\r\n`);
    if (!reading.ok) throw new Error(reading.problems[0].message);
    expect([...reading.log.times].map((t) => t - reading.log.times[0])).toEqual([0, 50_000, 100_000]);
  });

  it('counts days of the calendar as the platform does', () => {
    for (let k = 0; k < 400; k++) {
      const day = new Date(Date.UTC(1960, 0, 1 + 67 * k)).toISOString();
      expect(clockTime(day)!.t).toBe(Date.parse(day) * 1000);
    }
  });

  it('comes in pieces of any length with the same result', () => {
    const text = `time [s];upper;store pressure [bar];note\r\n${Array.from({ length: 50 }, (_, k) => `${k},25;0,${k % 9};1,0${k % 3};x`).join('\r\n')}`;
    const whole = readLog(RIG, text);
    for (const size of [1, 2, 7, 64]) {
      const reader = new LogReader(RIG);
      for (let at = 0; at < text.length; at += size) reader.push(text.slice(at, at + size));
      expect(reader.end()).toEqual(whole);
    }
  });

  it('leaves out lone readings far from their neighbours and says so', () => {
    const rows = Array.from({ length: 60 }, (_, k) => `${k / 10},${k === 30 ? 99.9 : 1 + 0.001 * (k % 3)}`);
    const reading = readLog(RIG, `time [s],store pressure [bar]\n${rows.join('\n')}`);
    if (!reading.ok) throw new Error(reading.problems[0].message);
    expect(reading.log.readings[0].values[30]).toBeNaN();
    expect(reading.log.exclusions.join(' ')).toContain('1 reading of `store pressure [bar]` stands far from');
  });

  it('takes a last line that is cut off as such', () => {
    const reading = readLog(RIG, 'time [s],upper,lower\n0,0,0\n1,0,0\n2,0,0\n3,0');
    expect(reading.ok && reading.log.exclusions).toEqual(['The last line is not whole and is left out.']);
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
    ['time,upper\n0,0', '2: The column `time` has no unit; write for instance'],
    ['time [bar],upper\n0,0', '1: The column `time [bar]` is '],
    [
      'time [s],uper\n0,0',
      '1: No column of the log (`uper`) names a door, chamber, sensor, switch or signal of bench. Did you mean upper?',
    ],
    [
      'time [s],store\n0,0',
      '1: The column `store` must say what of the chamber was read: mass, pressure, density or level.',
    ],
    ['time [s],store pressure [kg]\n0,0', '1: The column `store pressure [kg]` is '],
    ['time [s],store pressure [baar]\n0,0', '1: The unit of the column `store pressure [baar]` is not known; '],
    ['time [s],upper,upper\n0,0,0', '1: The columns `upper` and `upper` are of the same item; leave one out.'],
    ['time [s],upper\n0,0\n1\n2,0\n', '3: The line has 1 cells where the heading has 2.'],
    ['time [s],upper\n0,0\n1,ajar\n', '3: `ajar` in the column `upper` is not a number or a state.'],
    [
      'time [s],upper\n0,0\n1,1.4\n2,0\n',
      '1: 1.4 in the column `upper` is not an opening between 0 (shut) and 1 (open). Are these per cent?',
    ],
    [
      'time [s],store pressure [bar]\n0,1\n1,-2\n2,1\n',
      '1: -2 in the column `store pressure [bar]` is below zero (absolute). Is it gauge pressure?',
    ],
    ['time [s],upper\n0,0\n2,0\n1,0\n', '4: The clock goes back: 1 comes after 2, by 1 s;'],
    ['time [s],upper\n0,0\n2,0\n2,0\n', '4: The clock stands still: the time 2 comes twice;'],
    ['time [s],upper\n0,0\n', '2: The log has 1 line of readings; at least 3 are needed.'],
    ['time [s]\n0\n1\n2\n', '1: The log has no column but the time.'],
    ['time [s]|upper\n0|0\n', '1: The heading `time [s]|upper` is one single cell;'],
    ['PK\u0003\u0004zip', '1: This is a packed or spreadsheet file and no text;'],
    ['\u0000\u0001\n', '1: This is binary data and no text;'],
    ['time [s],left,right\n0,0,0\n', '1: No column of the log (`left`, `right`) names a door'],
    [
      'time [s],upper\n0,5,1\n1,0,1\n',
      '2: The line has 3 cells where the heading has 2. Decimal commas need semicolons',
    ],
    ['time [s],upper\n0,0\n1e300,0\n2,0\n', '3: `1e300` is not a valid clock time.'],
    ['time,upper\n06:00:00,0\nnoon,0\n', '3: `noon` is not a time'],
    ['time [s],upper\n0,0\n2,0\n', '2: The log has 2 lines of readings; at least 3 are needed.'],
  ])('%j: %s', (text, message) => {
    const [first] = problems(text);
    expect(first.slice(0, message.length)).toBe(message);
  });
});

it('writes dates as it reads them, leap years and ends of months too', () => {
  // By hand: 2000 and 2024 have a 29 February, 2100 has none.
  for (const date of [
    '1970-01-01T00:00:00.000',
    '2000-02-29T23:59:59.999',
    '2024-02-29T12:00:00.000',
    '2024-12-31T00:00:00.001',
    '2026-03-01T06:30:00.250',
    '2100-03-01T00:00:00.000',
  ])
    expect(dateText(clockTime(date)!.t)).toBe(date);
  expect(clockTime('2100-02-29T00:00:00')).toBeNull();
});
