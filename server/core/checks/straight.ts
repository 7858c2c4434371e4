/** Paths that must never stand open, and do in some stroke. */
import type { Course } from '../timing/course';
import { strokeCourses } from '../timing/course';
import type { RigFacts } from '../run/facts';
import type { Interval } from '../timing/facts';
import type { Path } from '../model/stages';

export interface OpenPath {
  readonly course: Course;
  readonly path: Path;
  /** In order of time, each different one once; at least one. */
  readonly intervals: readonly Interval[];
}

/** The paths that stand straight open at some time of a stroke. */
export function pathsOpen(facts: RigFacts): OpenPath[] {
  return strokeCourses(facts).flatMap((course) =>
    (course.stroke?.straightThrough ?? []).flatMap(({ path, intervals }) =>
      intervals.length > 0 ? [{ course, path, intervals }] : [],
    ),
  );
}

/** Whether two paths, of one rig or of a rig and its edited copy, are the same. */
export function isSamePath(a: Path, b: Path): boolean {
  return a.stack === b.stack && a.doors.length === b.doors.length && a.doors.every((door, i) => door === b.doors[i]);
}
