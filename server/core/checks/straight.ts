/** When every door between two chambers is off its seat: a path straight through. */
import type { Course } from '../metrics/course';
import { strokeCourses } from '../metrics/course';
import type { Interval } from '../timing/facts';
import type { RigFacts } from '../run/facts';
import { intersectAll } from '../timing/windows';
import type { Stage } from '../model/stages';
import { stagesOf } from '../model/stages';

export interface OpenPath {
  readonly course: Course;
  readonly stage: Stage;
  /** In order of time, each different one once. */
  readonly intervals: readonly Interval[];
}

/** Stages of two doors or more that stand straight open at some time of a stroke. A single door is a valve, not a path. */
export function pathsOpen(facts: RigFacts): OpenPath[] {
  const stages = stagesOf(facts.rig).filter((stage) => stage.doors.length > 1);
  return strokeCourses(facts).flatMap((course) =>
    stages.flatMap((stage) => {
      const lists = stage.doors.map((door) => (course.openings[door] ?? []).map((o) => o.notShut));
      const intervals = intersectAll(lists).filter((i) => i.from < course.repeatsFrom);
      return intervals.length > 0 ? [{ course, stage, intervals }] : [];
    }),
  );
}
