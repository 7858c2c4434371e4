/** What one stroke of a rig moves, where it stalls, and whether strokes keep up with the feed. */
import type { AdiabaticBound, ChamberState, Filling, StackStroke, StrokeFlow } from '../flow/facts';
import { adiabaticModel } from '../flow/flow-model';
import { compileStroke } from '../flow/program';
import type { FlowModel } from '../flow/rig-model';
import { doubtAt, stateAt } from '../flow/states';
import { ceilingMass, RepeatingStroke, strokeFrom } from '../flow/strokes';
import { massAt } from '../flow/vessel';
import type { Rig } from '../model/rig';
import type { StrokeFacts } from '../timing/facts';
import { strokePattern } from './door-pattern';
import { triggerMasses } from './flow-run';
import { keepUpOf } from './keep-up';
import { lazy } from './lazy';
import type { StrokeContext } from './stroke-context';
import { withMass } from './stroke-context';
import { energyOf } from './stroke-energy';

/** `filling`: the rig followed by itself, asked for only where an answer needs it. */
export function strokeFlow(
  rig: Rig,
  model: FlowModel,
  stroke: StrokeFacts,
  index: number,
  filling: () => Filling | null,
): StrokeFlow | null {
  if (stroke.trace.stopped) return null;
  const pattern = strokePattern(rig, stroke);
  const program = compileStroke(model.network, pattern);
  const trigger = triggerMasses(rig, model, stroke);
  const held = rig.sensors[stroke.sensor] ? [rig.sensors[stroke.sensor]!.chamber] : [];
  const strokes = new RepeatingStroke(model, program, held);
  const atTrigger = strokes.at(trigger);
  const interval = pattern.repeats ? pattern.duration / 1e6 / Math.max(1, pattern.strokes) : null;
  const context: StrokeContext = { rig, model, stroke, pattern, strokes, trigger, interval, atTrigger, filling };
  const keepUp = lazy(() => keepUpOf(context));
  const energy = lazy(() => energyOf(context));
  const adiabatic = lazy((): AdiabaticBound | null => {
    const bound = adiabaticModel(rig);
    if (!bound || atTrigger.doubt) return null;
    const { gains, work, hottest } = strokeFrom(bound, program, trigger, held);
    return { gains: Array.from(gains), work, hottest: Array.from(hottest) };
  });
  return {
    stroke: index,
    interval,
    gains: Array.from(atTrigger.gains),
    obtained: atTrigger.level,
    doubt: atTrigger.doubt,
    stacks: rig.stacks.map((_, stack) => stackStroke(context, stack)),
    trapped: atTrigger.trapped,
    loads: atTrigger.loads,
    hottest: Array.from(atTrigger.hottest),
    get adiabatic() {
      return adiabatic();
    },
    get keepUp() {
      return keepUp();
    },
    get energy() {
      return energy();
    },
  };
}

function stackStroke(context: StrokeContext, stack: number): StackStroke {
  const { rig, model, strokes, trigger, atTrigger } = context;
  const { members } = rig.stacks[stack]!;
  const from = members[0]!.index;
  const to = members[members.length - 1]!.index;
  const atStart = lazy(() => strokes.at(model.start).gains[to]!);
  const atLimit = lazy(() => {
    const limit = rig.chambers[to]?.limit ?? null;
    const vessel = model.vessels[to]!;
    const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
    return most === null ? null : strokes.at(withMass(trigger, to, most)).gains[to]!;
  });
  const ceiling = lazy(() => ceilingOf(context, to, atTrigger.gains[to]!));
  return {
    stack,
    from,
    to,
    atTrigger: atTrigger.gains[to]!,
    get atStart() {
      return atStart();
    },
    get atLimit() {
      return atLimit();
    },
    get ceiling() {
      return ceiling().ceiling;
    },
    get ceilingNote() {
      return ceiling().ceilingNote;
    },
  };
}

function ceilingOf(
  { model, strokes, trigger, atTrigger }: StrokeContext,
  to: number,
  gain: number,
): { ceiling: ChamberState | null; ceilingNote: string } {
  if (atTrigger.doubt) return { ceiling: null, ceilingNote: atTrigger.doubt };
  if (!(gain > 0)) return { ceiling: null, ceilingNote: 'a stroke moves nothing into it even at the start' };
  if (model.network.measured.some((m) => m.to === to)) {
    return { ceiling: null, ceilingNote: 'strokes move a measured fraction, whatever it holds' };
  }
  const mass = ceilingMass(model, strokes, trigger, to);
  if (mass === null) return { ceiling: null, ceilingNote: 'there is none: nothing of the pockets is left unswept' };
  const state = stateAt(model, to, mass);
  const doubt = doubtAt(model, to, state);
  if (doubt && model.law.phase === 'liquid') {
    return { ceiling: null, ceilingNote: 'there is none below 100 MPa, where the law of the liquid ends' };
  }
  return { ceiling: state, ceilingNote: doubt ? `not to be believed: ${doubt}` : '' };
}
