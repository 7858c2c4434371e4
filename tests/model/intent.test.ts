import { describe, expect, it } from 'vitest';
import {
  endsOf,
  isOverlapRequired,
  isOverlapWanted,
  isPairStated,
  pathsToKeepShut,
} from '../../server/core/model/intent';
import type { Rig } from '../../server/core/model/rig';
import { rigFrom } from '../support/rig';

/** A grain lock: hopper, ante-room, bin; doors a and b before the ante-room, c behind it. */
function lock(...statements: string[]): Rig {
  return rigFrom(`rig lock {
  chamber hopper { volume 2 m3 }
  chamber ante { volume 300 L }
  chamber bin { volume 5 m3 }
  door a { travel 400 ms }
  door b { travel 400 ms }
  door c { travel 400 ms }
  stack hopper > a > b > ante > c > bin
  switch run = on
  ${statements.join('\n  ')}
}`).rig;
}

const paths = (rig: Rig): string[] =>
  pathsToKeepShut(rig).map((p) => `${endsOf(rig, p)}: ${p.doors.map((d) => rig.doors[d]!.name).join(' ')}`);

describe('a pair of doors', () => {
  it.each([
    ['>= 1 ms', true],
    ['> 0 s', true],
    ['in 10 ms .. 1 s', true],
    ['= 30 ms', true],
    ['= 30 ms +- 10 ms', true],
    ['= 30 ms +- 50 ms', false],
    ['>= 0 s', false],
    ['= 0 s', false],
    ['in 0 s .. 100 ms', false],
    ['<= 1 s', false],
    ['< 1 s', false],
    ['<> 1 s', false],
  ])('overlap(a, b) %s wants some: %s', (comparison, wanted) => {
    const rig = lock(`require overlap(a, b) ${comparison}`);
    expect(isOverlapWanted(rig, 0, 1)).toBe(wanted);
    expect(isOverlapWanted(rig, 1, 0)).toBe(wanted);
    expect(isPairStated(rig, 0, 1)).toBe(true);
    expect(isPairStated(rig, 0, 2)).toBe(false);
  });

  it.each(['gap(a, b) >= 1 s', 'order(a shuts, b opens)', 'never(a and b)', 'never(not (a or c) xor b)'])(
    'is stated by %s, which wants no overlap',
    (requirement) => {
      const rig = lock(`require ${requirement}`);
      expect([isPairStated(rig, 0, 1), isOverlapWanted(rig, 0, 1)]).toEqual([true, false]);
    },
  );

  it('is wanted together by a sequence, unless it is handed over at one moment', () => {
    const rig = lock(`sequence work on run {
    at 0 s  open a
    at 2 s  open b
    at 3 s  close a
    at 5 s  open c
    at 5 s  close b
    at 8 s  close c
  }`);
    expect([isOverlapWanted(rig, 0, 1), isOverlapWanted(rig, 1, 2), isOverlapWanted(rig, 0, 2)]).toEqual([
      true,
      false,
      false,
    ]);
    expect(isOverlapRequired(rig, 0, 1)).toBe(false);
  });
});

describe('paths to keep shut', () => {
  it('run between any two chambers, the shortest ones only', () => {
    expect(paths(lock())).toEqual(['hopper to ante: a b']);
  });

  it('pass over chambers where a stage has one door', () => {
    const rig = rigFrom(`rig ante_room {
  chamber yard { volume 100 m3 }
  chamber ante { volume 10 m3 }
  chamber hall { volume 50 m3 }
  door outer { travel 1 s }
  door inner { travel 1 s }
  stack yard > outer > ante > inner > hall
}`).rig;
    expect(paths(rig)).toEqual(['yard to hall: outer inner']);
  });

  it('go past the vent of a lock out of a chamber under pressure, the way the stacks lead', () => {
    const vented = (between: string, pressure = '3 bar'): string[] =>
      paths(
        rigFrom(`rig vented {
  chamber box { volume 1 m3  pressure ${pressure} }
  chamber hatch { volume 50 L }
  chamber room { volume 30 m3 }
  door inner { travel 1 s }
  door outer { travel 1 s }
  door vent { travel 1 s }
  ${between}
  stack hatch > vent > atmosphere
}`).rig,
      );
    expect(vented('stack box > inner > hatch > outer > room')).toEqual([
      'box to room: inner outer',
      'box to atmosphere: inner vent',
    ]);
    // A room at the pressure of the air blows nothing out of the vent.
    expect(vented('stack box > inner > hatch > outer > room', '1.01 bar')).toEqual(['box to room: inner outer']);
    // A vessel with a valve on each side is no lock.
    expect(vented('stack box > inner > hatch\n  stack hatch > outer > room')).toEqual([]);
    // Two ways out of one chamber lead through no third one.
    expect(vented('stack hatch > inner > box\n  stack hatch > outer > room')).toEqual([]);
    const meant = 'stack box > inner > hatch > outer > room\n  require overlap(inner, vent) >= 100 ms';
    expect(vented(meant)).toEqual(['box to room: inner outer']);
  });

  it('leave out what requirements want open, and then look further', () => {
    expect(paths(lock('require overlap(a, b) >= 100 ms'))).toEqual(['hopper to bin: a b c']);
    const all = ['a, b', 'a, c', 'b, c'].map((pair) => `require overlap(${pair}) >= 100 ms`);
    expect(paths(lock(...all))).toEqual([]);
    expect(paths(lock(...all.slice(0, 2), 'require overlap(b, c) = 0 s'))).toEqual(['hopper to bin: a b c']);
  });

  it('are not excused by a sequence that opens them all', () => {
    const rig = lock(`sequence work on run {
    at 0 s  open a, b
    at 2 s  open c
    at 3 s  close a, b, c
  }`);
    expect(paths(rig)).toEqual(['hopper to ante: a b']);
  });

  it('begin and end with a door where the stack does', () => {
    const rig = rigFrom(`rig open_ends {
  chamber middle { volume 1 m3 }
  door a { travel 1 s }
  door b { travel 1 s }
  door c { travel 1 s }
  stack a > middle > b > c
}`).rig;
    expect(paths(rig)).toEqual(['middle to the other end: b c']);
  });
});
