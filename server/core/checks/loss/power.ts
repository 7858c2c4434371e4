/** `loss/power`: a path that stands straight open when the power goes. */
import { listText } from '../../metrics/words';
import type { Problem } from '../../model/problem';
import { formatTime } from '../../units/units';
import type { Check, CheckContext } from '../check';
import { setProperty } from '../repair/edits';
import { endsOf, isMeant } from '../door/straight-through';
import { momentText } from './switch';
import type { Stage } from '../../model/stages';
import { stagesOf } from '../../model/stages';
import { pathsOpen } from '../straight';

export const power: Check = {
  code: 'loss/power',
  title: 'Stands open when the power goes',
  severity: 'error',
  explanation:
    'Without power every door goes to its rest position. Here all doors between two chambers (two or more) rest open, so the path between them stands straight open for as long as the power is away; or, when the power goes at some moment of a stroke, they are off their seats together for a while on their way to rest (a warning, with the worst of the moments tried). A single door that rests open, a vent for instance, is not reported.',
  run(context) {
    const stages = stagesOf(context.rig).filter((stage) => stage.doors.length > 1 && !isMeant(context.rig, stage));
    const standing = stages.filter((stage) => stage.doors.every((d) => context.rig.doors[d]!.rest === 'open'));
    const found = standing.map((stage) => standingProblem(context, stage));
    // Doors that all go to shut open nothing on their way; only then the situations need not be tried.
    const mixed = stages.filter((stage) => stage.doors.some((d) => context.rig.doors[d]!.rest === 'open'));
    return found.length > 0 || mixed.length === 0 ? found : passingProblems(context, mixed);
  },
};

function standingProblem(context: CheckContext, stage: Stage): Problem {
  const { rig } = context;
  const names = listText(stage.doors.map((d) => rig.doors[d]!.name));
  const last = rig.doors[stage.doors[stage.doors.length - 1]!]!;
  // One alone is not enough: it may be on its way to shut while the other goes to open.
  const edits = stage.doors.flatMap((d) => setProperty(context, rig.doors[d]!.whole, 'rest', 'closed') ?? []);
  return {
    code: power.code,
    severity: power.severity,
    message: `${names} all rest open: without power the path from ${endsOf(rig, stage)} stands straight open.`,
    at: last.at,
    fixes: edits.length === stage.doors.length ? [{ title: `Let ${names} rest closed`, edits }] : [],
  };
}

function passingProblems({ rig, facts }: CheckContext, stages: readonly Stage[]): Problem[] {
  const already = new Set(pathsOpen(facts).map((p) => p.stage.stack));
  return facts.timing.behaviours
    .filter((b) => b.situation === 'power')
    .flatMap((b) =>
      b.straightThrough.slice(0, 1).flatMap(({ stack, interval }) => {
        const stage = stages.find((s) => s.stack === stack);
        if (!stage || already.has(stack) || interval.to === null) return [];
        const names = listText(stage.doors.map((d) => rig.doors[d]!.name));
        const when = b.at === null ? 'at rest' : momentText(b.at);
        const message = `When the power goes ${when}, ${names} are off their seats together for ${formatTime(interval.to - interval.from)} on their way to rest: a path straight through from ${endsOf(rig, stage)}.`;
        return [{ code: power.code, severity: 'warning' as const, message, at: rig.doors[stage.doors[0]!]!.at }];
      }),
    );
}
