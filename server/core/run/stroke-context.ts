/** What the answers about one stroke are computed from. */
import type { ChamberState, Filling } from '../flow/facts';
import { lineMass } from '../flow/lines';
import type { StrokePattern } from '../flow/pattern';
import type { FlowModel } from '../flow/rig-model';
import { beyondRange } from '../flow/states';
import { fullMass } from '../flow/vessel';
import type { WorkBudget } from '../model/budget';
import { compileStroke, type Program } from '../flow/program';
import { RepeatingStroke, type StrokeResult } from '../flow/strokes';
import type { Rig, Stack } from '../model/rig';
import type { StrokeFacts } from '../timing/facts';
import { strokePattern } from './door-pattern';
import { triggerMasses } from './flow-run';
import { FIGURE } from './flow-work';
import type { Kept, Work } from '../work/work';
import { say } from '../words/say';

/** A stroke made ready: whoever asks about it asks `strokes`, which keeps what it was asked before. */
export interface StrokeRun {
  readonly stroke: StrokeFacts;
  /** Index into `TimingFacts.strokes`. */
  readonly index: number;
  readonly pattern: StrokePattern;
  readonly program: Program;
  /** Contents at the start with the trigger's chamber at its threshold, kg; and the chambers that are held though they stand between two stages. */
  readonly trigger: readonly number[];
  readonly held: readonly number[];
  readonly strokes: RepeatingStroke;
}

/** Null where the trace of the stroke has no end. */
export function strokeRun(rig: Rig, model: FlowModel, stroke: StrokeFacts, index: number): StrokeRun | null {
  if (stroke.trace.stopped) return null;
  const pattern = strokePattern(rig, stroke);
  const program = compileStroke(model.network, pattern);
  const held = rig.sensors[stroke.sensor] ? [rig.sensors[stroke.sensor]!.chamber] : [];
  const trigger = triggerMasses(rig, model, stroke);
  return { stroke, index, pattern, program, trigger, held, strokes: new RepeatingStroke(model, program, held) };
}

export interface StrokeContext {
  readonly rig: Rig;
  readonly model: FlowModel;
  readonly stroke: StrokeFacts;
  readonly pattern: StrokePattern;
  readonly strokes: RepeatingStroke;
  readonly trigger: readonly number[];
  readonly interval: number | null;
  readonly atTrigger: StrokeResult;
  /** The work of the analysis; each figure takes a part of it (flow-work.ts). */
  readonly work: WorkBudget;
  /** Takes note of a figure that is withheld. */
  readonly withhold: (figure: string, why: string) => void;
  /** See `StrokeFlow.impossible`. */
  readonly impossible: string | null;
  /** The rig followed by itself. */
  readonly filling: Kept<Filling | null>;
}

/**
 * The repeating stroke with the chambers at `masses`, within what one figure may cost; in steps. In doubt also where it leaves a chamber
 * beyond what the law of the medium reaches.
 */
export function* strokeAt(
  { strokes, work, rig, model }: Pick<StrokeContext, 'strokes' | 'work' | 'rig' | 'model'>,
  masses: readonly number[],
): Work<StrokeResult> {
  const result = yield* strokes.work(masses, work.part(FIGURE.stroke));
  if (result.doubt !== null) return result;
  for (const [k, { name, endless }] of rig.chambers.entries()) {
    const why = endless ? null : beyondRange(model, k, masses[k]! + result.gains[k]!, result.hottest[k]!);
    if (why !== null) return { ...result, doubt: `${name}: ${why}` };
  }
  return result;
}

export const withMass = (masses: readonly number[], chamber: number, mass: number): number[] =>
  masses.map((m, k) => (k === chamber ? mass : m));

/** The chamber that the stroke empties and that is fed: the trigger's, else the first chamber of a stack whose doors it moves. */
export function fedChamber({ rig, stroke, pattern }: StrokeContext): number | null {
  const moved = rig.stacks.filter((stack) => isMoved(stack, pattern));
  const heads = moved.map((stack) => stack.members[0]!.index);
  const fed = heads.filter((head) => rig.lines.some((l) => l.kind === 'feed' && l.chamber === head));
  const own = rig.sensors[stroke.sensor]?.chamber;
  return fed.find((head) => head === own) ?? fed[0] ?? null;
}

/** Whether a door of the stack moves in the stroke. */
const isMoved = ({ members }: Stack, { doors }: StrokePattern): boolean =>
  members.some((m) => m.kind === 'door' && doors[m.index]!.moves.length > 0);

/** Whether the stroke can bring anything along the stack: a door of it moves, stands open or leaks. What others take is not its doing. */
export const letsThrough = ({ members }: Stack, { pattern, model }: StrokeContext): boolean =>
  model.leaks !== undefined ||
  members.some(
    (m) => m.kind === 'door' && (pattern.doors[m.index]!.moves.length > 0 || pattern.doors[m.index]!.initial > 0),
  );

/**
 * kg/s that feeds (less draws) bring to a chamber that holds `mass`, as long as it does: conditions as they stand there, lines that
 * are driven for the part of the stroke's interval in which they are on.
 */
export function feedAt({ model, pattern }: StrokeContext, chamber: number, mass: number): number {
  const vessel = model.vessels[chamber]!;
  const contents = {
    mass: Float64Array.from(model.vessels, (_, k) => (k === chamber ? mass : 0)),
    temperature: Float64Array.from(model.vessels, (v) => v.temperature),
  };
  return model.lines.reduce((sum, line, k) => {
    if (line.chamber !== chamber) return sum;
    const on = (pattern.lines[k] ?? []).reduce((time, [from, to]) => time + (to - from), 0) / pattern.duration;
    const instant = 1e-6;
    return sum + (on * lineMass(line, instant, model.law, vessel, contents)) / instant;
  }, 0);
}

/** Why a chamber does not reach a state: its liquid is over the rim, its gas beyond its law. */
export function beyondFill({ model, rig }: StrokeContext, chamber: number, state: ChamberState): string | null {
  const { law, vessels } = model;
  if (law.phase === 'packed' || rig.chambers[chamber]!.endless) return null;
  if (law.phase === 'gas') return law.outside(state.density, state.temperature) ? say`beyond the law of the gas` : null;
  return state.mass > fullMass(law, vessels[chamber]!) * (1 + 1e-9) ? say`over the rim` : null;
}
