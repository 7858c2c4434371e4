/** `door/off-sequence`: the wired signals drive a door at other times than the sequence that states the intent. */
import type { Course, Opening } from '../../timing/course';
import { openings, strokeCourses } from '../../timing/course';
import { spanText } from '../../timing/words';
import { doorPlaces } from '../../metrics/timing/places';
import { THIN } from '../../metrics/tolerance';
import type { Repair } from '../../model/problem';
import type { Sequence, TimeValue } from '../../model/rig';
import type { RigFacts } from '../../run/facts';
import type { Interval } from '../../timing/facts';
import { timesOf } from '../../choose/part';
import type { Goal } from '../../choose/search';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found, type Found } from '../check';
import { presetFixes } from '../repair/preset-fix';
import { say } from '../../words/say';

export const offSequence: Check = {
  code: 'door/off-sequence',
  title: 'Driven at other times than the sequence says',
  severity: 'warning',
  explanation:
    'A `sequence` whose doors have drives of their own states the intent, and the wired signals drive one of its doors at other times. Both are laid over each other at the first opening, so that the delay from the trigger does not count; from there each command may be off by the tolerance of its step (`at 2 s +- 100 ms`), by 10 ms at least. Turn the presets, or state the tolerance.',
  run(context) {
    const sequences = context.rig.sequences.filter((s) => !s.drives && s.steps.length > 0);
    return sequences.flatMap((sequence) =>
      strokeCourses(context.facts).flatMap((course) =>
        mismatches(course, sequence).map((m) => problemOf(context, course, m)),
      ),
    );
  },
};

interface Wanted extends Interval {
  readonly step: Sequence['steps'][number];
  /** The step that closes the door; null where none does. */
  readonly last: Sequence['steps'][number] | null;
  readonly fromTime: TimeValue;
  readonly toTime: TimeValue | null;
}

interface Mismatch {
  readonly sequence: Sequence;
  readonly door: number;
  readonly wanted: Wanted;
  /** What is driven instead, counted from the start of the sequence; null where the door is not driven. */
  readonly found: Interval | null;
  readonly opening: Opening | null;
}

/** The first difference of each door of a sequence in one course; none where the stroke drives none of its doors. */
function mismatches(course: Course, sequence: Sequence): Mismatch[] {
  const doors = [...new Set(sequence.steps.flatMap((s) => s.doors))];
  const starts = doors.flatMap((door) => {
    const first = firstStroke(course, door)[0];
    return first ? [first.from] : [];
  });
  if (starts.length === 0) return [];
  const zero = Math.min(...starts) - Math.min(...sequence.steps.filter((s) => s.open).map((s) => s.at.nominal));
  return doors.flatMap((door) => mismatchOf(course, sequence, door, zero) ?? []);
}

function mismatchOf(course: Course, sequence: Sequence, door: number, zero: number): Mismatch | null {
  const driven = firstStroke(course, door).map(({ from, to }) => ({
    from: from - zero,
    to: to === null ? null : to - zero,
  }));
  for (const [i, wanted] of wantedWindows(sequence, door).entries()) {
    const found = driven[i] ?? null;
    const fits =
      found && near(wanted.fromTime, found.from) && (wanted.toTime ? near(wanted.toTime, found.to) : found.to === null);
    if (!fits) return { sequence, door, wanted, found, opening: openings(course, door)[i] ?? null };
  }
  return null;
}

function near(time: TimeValue, found: number | null): boolean {
  if (found === null) return false;
  const allowed = Math.max(THIN.least, found > time.nominal ? time.max - time.nominal : time.nominal - time.min);
  return Math.abs(found - time.nominal) <= allowed;
}

/** Commands of a door that belong to the first stroke. */
function firstStroke({ stroke }: Course, door: number): readonly Interval[] {
  return stroke?.doors.find((d) => d.door === door)?.windows.flatMap((w) => w.commandedParts) ?? [];
}

function wantedWindows({ steps }: Sequence, door: number): Wanted[] {
  const own = steps.filter((s) => s.doors.includes(door));
  return own.flatMap((step, i) => {
    if (!step.open) return [];
    const end = own.slice(i + 1).find((s) => !s.open);
    const [from, to] = [step.at.nominal, end?.at.nominal ?? null];
    return [{ from, to, step, last: end ?? null, fromTime: step.at, toTime: end?.at ?? null }];
  });
}

function problemOf(context: CheckContext, course: Course, m: Mismatch): Found {
  const { name } = context.rig.doors[m.door]!;
  const driven = m.found ? say`drive it ${spanText(m.found)}` : say`do not drive it`;
  return found(
    offSequence,
    (m.found && near(m.wanted.fromTime, m.found.from) ? m.wanted.last : null)?.source ?? m.wanted.step.source,
    say`Sequence ${m.sequence.name} wants ${name} driven ${spanText(m.wanted)}, and the signals ${driven} (counted from the first opening, ${course.label}).`,
    { doors: [m.door] },
    { related: m.opening ? doorPlaces(context.rig, m.opening) : [], repair: () => fixesOf(context, m) },
  );
}

function* fixesOf(context: CheckContext, { sequence, door, wanted, found, opening }: Mismatch): Work<Repair[]> {
  if (!found || !opening || found.to === null || wanted.to === null) return [];
  const { rig } = context;
  const by = (end: 'opens' | 'closes', amount: number) =>
    Math.abs(amount) <= THIN.least
      ? []
      : timesOf(rig, opening, end).map((literal) => ({ literal, value: literal.value + amount }));
  const candidates = [...by('opens', wanted.from - found.from), ...by('closes', wanted.to - found.to)];
  return yield* presetFixes(
    context,
    candidates,
    fits(context.facts, sequence, door),
    say`so that ${rig.doors[door]!.name} follows the sequence`,
  );
}

/** The door follows the sequence, and no other has left it. */
function fits(before: RigFacts, { name }: Sequence, door: number): Goal {
  const off = (facts: RigFacts): number[] => {
    const sequence = facts.rig.sequences.find((s) => s.name === name)!;
    return strokeCourses(facts).flatMap((course) => mismatches(course, sequence).map((m) => m.door));
  };
  const now = off(before).length;
  return (facts) => {
    const then = off(facts);
    return !then.includes(door) && then.length < now;
  };
}
