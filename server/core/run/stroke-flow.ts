/** What one stroke of a rig moves, where it stalls, and whether strokes keep up with the feed. */
import type {
  AdiabaticBound,
  ChamberState,
  Filling,
  NotComputed,
  StackStroke,
  StrokeCourse,
  StrokeFlow,
} from '../flow/facts';
import { joinedChambers } from '../flow/cells';
import { levelOf } from '../flow/engine';
import { adiabaticModel } from '../flow/flow-model';
import type { DoorPath, StrokePattern } from '../flow/pattern';
import type { FlowModel } from '../flow/rig-model';
import { beyondSqueeze, doubtAt, stateAt } from '../flow/states';
import { ceilingMass, gainCurve } from '../flow/stroke-roots';
import type { StrokeResult } from '../flow/strokes';
import { alongStack } from '../flow/passed';
import { strokeFrom } from '../flow/strokes';
import { fullMass } from '../flow/vessel';
import type { WorkBudget } from '../model/budget';
import { positionAt } from '../model/motion';
import type { Rig } from '../model/rig';
import type { StrokeFacts } from '../timing/facts';
import { patternRange } from './door-pattern';
import { gainPoints, massAtLimit } from './gain-points';
import { keepUpOf } from './keep-up';
import { type Kept, kept, standsBehind, type Work } from '../work/work';
import { FIGURE } from './flow-work';
import type { StrokeContext, StrokeRun } from './stroke-context';
import { letsThrough, strokeAt, withMass } from './stroke-context';
import { energyOf } from './stroke-energy';
import { say } from '../words/say';

/** `filling`: the rig followed by itself, asked for only where an answer needs it. */
export function* strokeFlow(
  rig: Rig,
  model: FlowModel,
  { stroke, index, pattern, program, trigger, held, strokes }: StrokeRun,
  filling: Kept<Filling | null>,
  work: WorkBudget,
): Work<StrokeFlow | NotComputed> {
  const endless = endlessFlow(rig, model, stroke, pattern);
  if (endless !== null) return { stroke: index, why: endless };
  const atTrigger = yield* strokeAt({ strokes, work, rig, model }, trigger);
  if (atTrigger.doubt !== null) return { stroke: index, why: atTrigger.doubt };
  const interval = pattern.repeats ? pattern.duration / 1e6 / Math.max(1, pattern.strokes) : null;
  const notes = new Set<string>();
  const withhold = (figure: string, why: string): void => void notes.add(say`${figure}: not computed: ${why}`);
  const impossible = impossibleOf(rig, model, atTrigger);
  const context: StrokeContext = {
    rig,
    model,
    stroke,
    pattern,
    strokes,
    trigger,
    interval,
    atTrigger,
    work,
    withhold,
    impossible,
    filling,
  };
  const keepUp = kept(() => keepUpOf(context));
  const energy = kept(() => energyOf(context));
  const adiabatic = kept(function* (): Work<AdiabaticBound | null> {
    const bound = adiabaticModel(rig);
    const found = bound && (yield* strokeFrom(bound, program, trigger, held, work.part(FIGURE.stroke)));
    if (found && found.doubt !== null) withhold(say`without heat to the walls`, found.doubt);
    if (!found || found.doubt !== null) return null;
    return { gains: Array.from(found.gains), work: found.work, hottest: Array.from(found.hottest) };
  });
  const course = kept(() => courseOf(context));
  return figuresOf(index, context, notes, { keepUp, energy, adiabatic, course });
}

/** Figures that cost a run of their own: computed once, where they are first asked for. */
interface Later {
  readonly keepUp: Kept<StrokeFlow['keepUp']>;
  readonly energy: Kept<StrokeFlow['energy']>;
  readonly adiabatic: Kept<StrokeFlow['adiabatic']>;
  readonly course: Kept<StrokeFlow['course']>;
}

/** @param notes what was withheld so far; figures computed later add theirs */
function figuresOf(
  index: number,
  context: StrokeContext,
  notes: ReadonlySet<string>,
  { keepUp, energy, adiabatic, course }: Later,
): StrokeFlow {
  const { rig, interval, atTrigger, impossible } = context;
  const stacks = rig.stacks.flatMap((stack, k) => (letsThrough(stack, context) ? [stackStroke(context, k)] : []));
  const flow: StrokeFlow = {
    stroke: index,
    interval,
    gains: Array.from(atTrigger.gains),
    obtained: atTrigger.level,
    impossible,
    stacks,
    trapped: atTrigger.trapped,
    loads: atTrigger.loads,
    hottest: Array.from(atTrigger.hottest),
    get adiabatic() {
      return adiabatic.value();
    },
    get course() {
      return course.value();
    },
    get keepUp() {
      return keepUp.value();
    },
    get energy() {
      return energy.value();
    },
    get withheld() {
      for (const { atStart, atLimit } of stacks) void [atStart, atLimit];
      for (const figure of [keepUp, energy]) figure.value();
      return [...notes];
    },
  };
  standsBehind(flow, 'adiabatic', adiabatic);
  standsBehind(flow, 'course', course);
  standsBehind(flow, 'keepUp', keepUp);
  standsBehind(flow, 'energy', energy);
  return flow;
}

/** Why a stroke that happens once has no mass of its own: it leaves chambers in connection, or finds them so, for as long as nobody ends it. */
function endlessFlow(
  rig: Rig,
  model: FlowModel,
  stroke: StrokeFacts,
  { repeats, doors, duration }: StrokePattern,
): string | null {
  if (repeats || levelOf(model) !== 'openings') return null;
  const open = (of: (path: DoorPath) => number): readonly [number, number] | null =>
    joinedChambers(
      model.network,
      doors.map((path) => of(path) > 0),
    );
  const before = open((path) => path.initial);
  // A stroke that ends does so with its doors where they rest; what happens at that instant is outside the pattern.
  const pair = before ?? (stroke.strokeEnds === null ? open((path) => positionAt(path, duration)) : null);
  if (!pair) return null;
  const [a, b] = pair.map((chamber) => rig.chambers[chamber]!.name);
  return before
    ? say`${a!} and ${b!} stand joined before it, and what flows depends on how long (the rig by itself shows it)`
    : say`${a!} and ${b!} stand joined after it, and what flows depends on how long (the rig by itself shows it)`;
}

/** The first pocket that the stroke squeezes beyond what its law or material reaches, in the words of `beyondSqueeze`. */
function impossibleOf(rig: Rig, model: FlowModel, { trapped, loads }: StrokeResult): string | null {
  const names = (doors: readonly number[]): string => doors.map((door) => rig.doors[door]!.name).join(', ');
  const squeezed = [
    ...trapped.map(({ doors, to }) => beyondSqueeze(model, to, names(doors))),
    ...rig.doors.map(({ name }, door) => beyondSqueeze(model, loads.peak[door]!, name)),
  ];
  return squeezed.find((doubt) => doubt !== null) ?? null;
}

function stackStroke(context: StrokeContext, stack: number): StackStroke {
  const { rig, model, trigger, atTrigger } = context;
  const { members } = rig.stacks[stack]!;
  const from = members[0]!.index;
  const to = members[members.length - 1]!.index;
  function* gain(name: string, masses: readonly number[]): Work<number | null> {
    const result = yield* strokeAt(context, masses);
    if (result.doubt !== null) context.withhold(say`${name}, into ${rig.chambers[to]!.name}`, result.doubt);
    return result.doubt === null ? alongStack(model, result, rig.stacks[stack]!) : null;
  }
  const atStart = kept(() => gain(say`at start`, model.start));
  const atLimit = kept(function* () {
    const most = massAtLimit(rig, model, to);
    return most === null ? null : yield* gain(say`at limit`, withMass(trigger, to, most));
  });
  const ceiling = kept(() => ceilingOf(context, to));
  const curve = kept(() => gainPoints(context, to, ceiling.value().ceiling));
  const moved: StackStroke = {
    stack,
    from,
    to,
    atTrigger: alongStack(model, atTrigger, rig.stacks[stack]!),
    get atStart() {
      return atStart.value();
    },
    get atLimit() {
      return atLimit.value();
    },
    get ceiling() {
      return ceiling.value().ceiling;
    },
    get ceilingNote() {
      return ceiling.value().ceilingNote;
    },
    get curve() {
      return curve.value();
    },
  };
  standsBehind(moved, 'atStart', atStart);
  standsBehind(moved, 'atLimit', atLimit);
  standsBehind(moved, 'ceiling', ceiling);
  standsBehind(moved, 'curve', curve);
  return moved;
}

function* courseOf({ strokes, trigger, stroke, work, pattern }: StrokeContext): Work<StrokeCourse | null> {
  const points = yield* strokes.course(trigger, work.part(FIGURE.course));
  if (points === null) return null;
  return { from: patternRange(stroke).from, points, moments: strokes.moments, strokes: Math.max(1, pattern.strokes) };
}

function* ceilingOf(
  { rig, model, strokes, trigger, work, atTrigger }: StrokeContext,
  to: number,
): Work<{ ceiling: ChamberState | null; ceilingNote: string }> {
  if (rig.chambers[to]!.endless) return { ceiling: null, ceilingNote: say`it has none: it is endless` };
  if (strokes.floats(to)) {
    return { ceiling: null, ceilingNote: say`it has none of its own: what one stage brings, the next one takes` };
  }
  if (!(atTrigger.gains[to]! > 0))
    return { ceiling: null, ceilingNote: 'a stroke moves nothing into it even at the start' };
  if (model.network.measured.some((m) => m.to === to)) {
    return { ceiling: null, ceilingNote: say`strokes move a measured fraction, whatever it holds` };
  }
  const curve = gainCurve(model, strokes, trigger, to, work.part(FIGURE.ceiling));
  const mass = yield* ceilingMass(model, curve, massAtLimit(rig, model, to));
  const withheld = curve.withheld();
  if (withheld !== null) return { ceiling: null, ceilingNote: say`not computed: ${withheld}` };
  if (mass === null) return { ceiling: null, ceilingNote: say`there is none: nothing of the pockets is left unswept` };
  const state = stateAt(model, to, mass);
  const doubt = doubtAt(model, to, state);
  if (model.law.phase === 'liquid' && !rig.chambers[to]!.pressure && mass > fullMass(model.law, model.vessels[to]!)) {
    return { ceiling: null, ceilingNote: say`there is none below its rim` };
  }
  if (doubt && model.law.phase === 'liquid') {
    return { ceiling: null, ceilingNote: say`there is none below 100 MPa, where the law of the liquid ends` };
  }
  return { ceiling: state, ceilingNote: doubt ? say`not reported: ${doubt}` : '' };
}
