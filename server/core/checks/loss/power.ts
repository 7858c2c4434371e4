/** `loss/power`: a path that stands straight open when the power goes. */
import { prepare } from '../../work/work';
import { listText } from '../../timing/words';
import type { Problem } from '../../model/problem';
import { formatTime } from '../../units/units';
import { type Check, type CheckContext, found } from '../check';
import { setProperty } from '../repair/edits';
import { momentText } from './switch';
import { endsOf, pathsToKeepShut } from '../../model/intent';
import type { Path } from '../../model/stages';
import { isSamePath, pathsOpen } from '../straight';
import { say } from '../../words/say';

export const power: Check = {
  code: 'loss/power',
  asksIntent: true,
  title: 'Path open without power',
  severity: 'error',
  explanation:
    'Without power every door goes to its rest position. Here all doors between two chambers of a stack (two doors or more, also with chambers in between) rest open, so the path between them is open straight through for as long as the power is off; or, when the power goes at some moment of a stroke, they are off their seats together for a while on their way to rest (a warning, with the worst of the moments tried). A single door that rests open, a vent for instance, is not reported.',
  *prepare({ rig, facts }) {
    const isOpen = (d: number): boolean => rig.doors[d]!.rest === 'open';
    if (pathsToKeepShut(rig).some((path) => path.doors.some(isOpen))) yield* prepare(facts.timing, 'behaviours');
  },
  run(context) {
    const { doors } = context.rig;
    const paths = pathsToKeepShut(context.rig);
    const standing = paths.filter((path) => path.doors.every((d) => doors[d]!.rest === 'open'));
    const problems = standing.map((path) => standingProblem(context, path));
    // Doors that all go to shut open nothing on their way; only then the situations need not be tried.
    const mixed = paths.filter((path) => path.doors.some((d) => doors[d]!.rest === 'open'));
    return problems.length > 0 || mixed.length === 0 ? problems : passingProblems(context, mixed);
  },
};

function standingProblem(context: CheckContext, path: Path): Problem {
  const { rig } = context;
  const names = listText(path.doors.map((d) => rig.doors[d]!.name));
  const last = rig.doors[path.doors[path.doors.length - 1]!]!;
  // One alone is not enough: it may be on its way to shut while the other goes to open.
  const edits = path.doors.flatMap((d) => setProperty(context, rig.doors[d]!.whole, 'rest', 'closed') ?? []);
  return found(
    power,
    last.at,
    say`${names} all rest open: without power the path from ${endsOf(rig, path)} is open straight through.`,
    { doors: path.doors },
    { fixes: edits.length === path.doors.length ? [{ title: say`Let ${names} rest closed`, edits }] : [] },
  );
}

function passingProblems({ rig, facts }: CheckContext, paths: readonly Path[]): Problem[] {
  const already = pathsOpen(facts);
  return facts.timing.behaviours
    .filter((b) => b.situation === 'power')
    .flatMap((b) =>
      paths.flatMap((path) => {
        const open = b.straightThrough.find((s) => isSamePath(s.path, path))?.interval;
        if (!open || open.to === null || already.some((p) => isSamePath(p.path, path))) return [];
        const names = listText(path.doors.map((d) => rig.doors[d]!.name));
        const when = b.at === null ? say`at rest` : momentText(b.at);
        const message = say`When the power goes ${when}, ${names} are off their seats together for ${formatTime(open.to - open.from)} on their way to rest: a path straight through from ${endsOf(rig, path)}.`;
        return [found(power, rig.doors[path.doors[0]!]!.at, message, { doors: path.doors }, { severity: 'warning' })];
      }),
    );
}
