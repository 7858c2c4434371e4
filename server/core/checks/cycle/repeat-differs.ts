/** `cycle/repeat-differs`: strokes do not follow one another at the interval that the text suggests. */
import type { Course } from '../../timing/course';
import { strokeCourses } from '../../timing/course';
import { listText } from '../../timing/words';
import { secondOpening } from '../../metrics/timing/repeat';
import { elementOf } from '../../metrics/timing/places';
import { lossesWork, marginNeeded } from '../../metrics/tolerance';
import type { Fix, Problem, Repair } from '../../model/problem';
import type { Element, Sequence } from '../../model/rig';
import type { Goal } from '../../choose/search';
import { formatTime, timeLiteral } from '../../units/units';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found, type Found } from '../check';
import { alikeAfter } from '../door/meetings';
import { requireFix } from '../repair/edits';
import { isRequired } from '../../model/intent';
import { presetFixes } from '../repair/preset-fix';
import { presetLiteral } from '../timer/timers';
import { say } from '../../words/say';

export const repeatDiffers: Check = {
  code: 'cycle/repeat-differs',
  asksIntent: true,
  title: 'Repeats at an interval other than its presets suggest',
  severity: 'information',
  explanation:
    'With the trigger held, strokes follow one another at another interval than the text suggests. Three cases: the interval is that of the hold-off timer plus everything else in the cycle, because an off-delay starts only when another signal ends (information: presets are not intervals; a `require repeat() …` states the real one); a `sequence` that states the intent says `repeat after` another time (a warning); or the interval is not the same from stroke to stroke (a warning).',
  *prepare({ rig, facts }) {
    if (facts.timing.strokes.some((stroke) => stroke.repeat !== null)) yield* lossesWork(rig);
  },
  run(context) {
    const suggested: Suggested[] = [];
    const others = strokeCourses(context.facts).flatMap((course) => {
      const { stroke } = course;
      if (!stroke || stroke.repeat === null) return [];
      const problems = unevenProblem(course) ?? sequenceProblem(context, course, stroke.repeat);
      if (!problems) suggested.push(...suggestedBy(context, course, stroke.repeat));
      return problems ?? [];
    });
    return [...others, ...onceEach(suggested).map((each) => presetProblem(context, each))];
  },
};

/** A stroke whose interval a reader would take for the preset of `hold`. */
interface Suggested {
  readonly course: Course;
  readonly repeat: number;
  readonly hold: Element;
  /** How many other triggers start strokes at the same interval. */
  readonly others: number;
}

/** Of triggers with the same interval and the same timer the first speaks for all. */
function onceEach(list: readonly Suggested[]): Suggested[] {
  const groups = new Map<string, Suggested>();
  for (const each of list) {
    const key = `${each.hold.net} ${each.repeat}`;
    const known = groups.get(key);
    groups.set(key, known ? { ...known, others: known.others + 1 } : each);
  }
  return [...groups.values()];
}

function unevenProblem({ rig, stroke, label }: Course): Problem[] | null {
  const { pattern, starts, startNet } = stroke!;
  if (!pattern) return null;
  const inPattern = starts.filter((t) => t >= pattern.from && t < pattern.to);
  const intervals = inPattern.map((t, i) => (inPattern[i + 1] ?? inPattern[0]! + pattern.to - pattern.from) - t);
  if (new Set(intervals).size < 2) return null;
  const message = say`Strokes are not evenly spaced: from one start to the next it takes ${listText(intervals.map(formatTime))}, again and again, ${label}.`;
  return [found(repeatDiffers, placeOfNet(rig, startNet), message, { nets: [startNet] }, { severity: 'warning' })];
}

function sequenceProblem({ rig }: CheckContext, { label }: Course, repeat: number): Problem[] | null {
  const stated = rig.sequences.find((s): s is Sequence & { repeatAfter: object } => s.repeatAfter !== null);
  if (!stated || stated.drives) return null;
  const wanted = stated.repeatAfter.nominal;
  if (wanted === repeat) return null;
  const message = say`Strokes follow one another every ${formatTime(repeat)} ${label}, but sequence ${stated.name} says ${formatTime(wanted)}.`;
  return [
    found(
      repeatDiffers,
      stated.repeatAfter.at,
      message,
      { doors: stated.steps.flatMap((step) => step.doors) },
      { severity: 'warning' },
    ),
  ];
}

/** The longest preset on the way round is what a reader takes for the interval. */
function suggestedBy({ rig }: CheckContext, course: Course, repeat: number): Suggested[] {
  const again = secondOpening(course);
  if (!again || isRequired(rig, 'repeat')) return [];
  const timers = again.opensBecause.flatMap((link) => {
    const element = link.preset > 0 ? elementOf(rig, link) : undefined;
    return element?.preset ? [element] : [];
  });
  const hold = timers.reduce<Element | null>((a, b) => (a && a.preset!.nominal >= b.preset!.nominal ? a : b), null);
  if (!hold || Math.abs(repeat - hold.preset!.nominal) < marginNeeded(rig, hold)) return [];
  return [{ course, repeat, hold, others: 0 }];
}

function presetProblem(context: CheckContext, { course, repeat, hold, others }: Suggested): Found {
  const preset = hold.preset!.nominal;
  const when = `${course.label}${alikeAfter(others)}`;
  const message = say`Strokes follow one another every ${formatTime(repeat)} ${when}, not every ${formatTime(preset)} as the preset of ${hold.name} may suggest: the rest of the cycle takes ${formatTime(repeat - preset)}.`;
  const repair = () => presetRepair(context, course, hold, repeat);
  return found(repeatDiffers, hold.at, message, { nets: [hold.net] }, { repair });
}

function* presetRepair(context: CheckContext, course: Course, hold: Element, repeat: number): Work<Repair[]> {
  return [...statedFix(context, repeat), ...(yield* shortenedFix(context, course, hold, repeat))];
}

function statedFix(context: CheckContext, repeat: number): Fix[] {
  return requireFix(
    context,
    say`State that the rig repeats every ${formatTime(repeat)}`,
    `repeat() = ${timeLiteral(repeat)} +- 5 %`,
  );
}

/** Makes the preset so much shorter that the interval becomes what the preset was, and states it. */
function* shortenedFix(context: CheckContext, course: Course, hold: Element, repeat: number): Work<Repair[]> {
  const preset = hold.preset!.nominal;
  const candidate = { literal: presetLiteral(hold), value: 2 * preset - repeat };
  const goal: Goal = ({ timing }) =>
    timing.strokes.every((s) => s.trigger.net !== course.stroke!.trigger.net || s.repeat === preset);
  const shortened = yield* presetFixes(
    context,
    [candidate],
    goal,
    say`so that the rig repeats every ${formatTime(preset)}, and state it`,
  );
  const statement = statedFix(context, preset)[0];
  return statement
    ? shortened.map((fix) => ('edits' in fix ? { ...fix, edits: [...fix.edits, ...statement.edits] } : fix))
    : [];
}

function placeOfNet(rig: CheckContext['rig'], net: number): Problem['at'] {
  const { kind, index } = rig.network.nets[net] ?? { kind: 'switch', index: -1 };
  return (
    (kind === 'element' ? rig.network.elements[index]?.at : kind === 'sensor' ? rig.sensors[index]?.at : undefined) ??
    rig.at
  );
}
