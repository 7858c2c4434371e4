/** What one stroke of a rig moves, where it stalls, and whether strokes keep up with the feed. */
import type { FlowModel } from '../flow/balance';
import type { ChamberState, KeepUp, StackStroke, StrokeFlow } from '../flow/facts';
import { compileStroke } from '../flow/program';
import { doubtAt, stateAt } from '../flow/states';
import { balanceMass, ceilingMass, strokeFrom } from '../flow/strokes';
import { massAt } from '../flow/vessel';
import type { Rig } from '../model/rig';
import type { StrokeFacts } from '../timing/facts';
import { strokePattern } from './door-pattern';
import { triggerMasses } from './flow-run';
import { lazy } from './lazy';
import type { StrokeContext } from './stroke-context';
import { fedChamber, netFeed, withMass } from './stroke-context';
import { energyOf } from './stroke-energy';

export function strokeFlow(rig: Rig, model: FlowModel, stroke: StrokeFacts, index: number): StrokeFlow | null {
  if (stroke.trace.stopped) return null;
  const pattern = strokePattern(rig, stroke);
  const program = compileStroke(model.network, pattern);
  const trigger = triggerMasses(rig, model, stroke);
  const atTrigger = strokeFrom(model, program, trigger);
  const atStart = strokeFrom(model, program, model.start);
  const interval = pattern.repeats ? pattern.duration / 1e6 / Math.max(1, pattern.strokes) : null;
  const context: StrokeContext = { rig, model, stroke, pattern, program, trigger, interval };
  const keepUp = lazy(() => keepUpOf(context));
  const energy = lazy(() => energyOf(context, atTrigger.work, movedMass(rig, atTrigger.gains)));
  return {
    stroke: index,
    interval,
    gains: Array.from(atTrigger.gains),
    stacks: rig.stacks.flatMap((_, stack) => stackStroke(context, stack, atStart.gains, atTrigger.gains) ?? []),
    trapped: atTrigger.trapped,
    get keepUp() {
      return keepUp();
    },
    get energy() {
      return energy();
    },
  };
}

/** kg that reach the last chambers of the stacks, each chamber once. */
function movedMass(rig: Rig, gains: Float64Array): number {
  const ends = new Set(rig.stacks.map((stack) => stack.members[stack.members.length - 1]!.index));
  let sum = 0;
  for (const end of ends) sum += Math.max(0, gains[end] ?? 0);
  return sum;
}

function stackStroke(
  context: StrokeContext,
  stack: number,
  atStart: Float64Array,
  atTrigger: Float64Array,
): StackStroke | null {
  const { rig, model, program, trigger } = context;
  const { members } = rig.stacks[stack]!;
  const from = members[0]!.index;
  const to = members[members.length - 1]!.index;
  const limit = rig.chambers[to]?.limit ?? null;
  const vessel = model.vessels[to]!;
  const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
  const atLimit = most === null ? null : strokeFrom(model, program, withMass(trigger, to, most)).gains[to]!;
  const ceiling = ceilingOf(context, to, atTrigger[to]!);
  return { stack, from, to, atStart: atStart[to]!, atTrigger: atTrigger[to]!, atLimit, ...ceiling };
}

function ceilingOf(
  { rig, model, program, trigger }: StrokeContext,
  to: number,
  gain: number,
): { ceiling: ChamberState | null; ceilingNote: string } {
  if (!(gain > 0)) return { ceiling: null, ceilingNote: 'a stroke moves nothing into it even at the start' };
  if (model.network.measured.some((m) => m.to === to)) {
    return { ceiling: null, ceilingNote: 'strokes move a measured fraction, whatever it holds' };
  }
  const { members } = rig.stacks.find((stack) => stack.members[stack.members.length - 1]!.index === to)!;
  if (members.filter((m) => m.kind === 'chamber').length > 2) {
    return { ceiling: null, ceilingNote: 'it depends on what the chambers in between hold' };
  }
  const mass = ceilingMass(model, program, trigger, to);
  if (mass === null) return { ceiling: null, ceilingNote: 'there is none: nothing of the pockets is left unswept' };
  const state = stateAt(model, to, mass);
  const doubt = doubtAt(model, to, state);
  if (doubt && model.law.phase === 'liquid') {
    return { ceiling: null, ceilingNote: 'there is none below 100 MPa, where the law of the liquid ends' };
  }
  return { ceiling: state, ceilingNote: doubt ? `not to be believed: ${doubt}` : '' };
}

function keepUpOf(context: StrokeContext): KeepUp | null {
  const { rig, model, program, trigger, interval } = context;
  const chamber = fedChamber(context);
  if (chamber === null || interval === null) return null;
  const feed = netFeed(model, chamber);
  if (!(feed > 0)) return null;
  const { limit } = rig.chambers[chamber]!;
  const vessel = model.vessels[chamber]!;
  const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
  const mass = most ?? trigger[chamber]!;
  const taken = -strokeFrom(model, program, withMass(trigger, chamber, mass)).gains[chamber]!;
  const settles = balanceMass(model, program, trigger, chamber, feed * interval);
  const capacity = taken / interval;
  return {
    chamber,
    feed,
    capacity,
    at: most !== null ? 'limit' : mass === model.start[chamber] ? 'start' : 'threshold',
    keeps: capacity >= feed * (1 - 1e-9),
    longestInterval: taken / feed,
    settlesAt: settles === null ? null : stateAt(model, chamber, settles),
  };
}
