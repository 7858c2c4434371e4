/** The orifice level for one stroke: what it moves through the openings of its doors, beside the balance, and what they cut short. */
import type { FlowModel } from '../flow/balance';
import { Balance, startContents } from '../flow/balance';
import type { DetailFacts } from '../flow/facts';
import { modelFlow } from '../flow/flow-model';
import { LiquidOrifice, liquidFills } from '../flow/liquid-orifice';
import type { CutOff } from '../flow/orifice';
import { effectiveAreas, Orifice } from '../flow/orifice';
import type { StrokePattern } from '../flow/pattern';
import { compileStroke } from '../flow/program';
import type { Rig } from '../model/rig';
import type { StrokeFacts } from '../timing/facts';
import { strokePattern } from './door-pattern';
import { triggerMasses } from './flow-run';

export function detailNote(rig: Rig, model: FlowModel): string {
  if (model.law.phase === 'packed') return 'a packed medium does not flow';
  if (model.network.measured.length > 0) return 'strokes of a stack with `moves` are measured, not worked out';
  const areas = effectiveAreas(rig.doors);
  return typeof areas === 'string' ? areas : '';
}

/** Filling times that a door must stand fully open for a short fill to be out of the question. */
const PLENTY = 6;

/**
 * A cheap answer before the dear one: whether each door of a gas rig stands fully open long enough to fill all pockets between it and
 * the next chamber several times over. Choked flow fills a volume V through an effective area A in about V/(A √(R T)), sub-critical flow in twice that.
 */
export function fillsWithoutDoubt(rig: Rig, stroke: StrokeFacts): boolean {
  const { model } = modelFlow(rig);
  const areas = effectiveAreas(rig.doors);
  if (!model || model.law.phase !== 'gas' || typeof areas === 'string') return false;
  const speed = Math.sqrt(model.law.gasConstant * model.law.temperature);
  const volumes = volumesBehind(rig, model);
  return stroke.doors.every(({ door, windows }) =>
    windows.every(({ fullyOpen }) => {
      const open = fullyOpen ? (fullyOpen.to ?? Infinity) - fullyOpen.from : 0;
      return open / 1e6 > (PLENTY * volumes[door]!) / (areas[door]! * speed);
    }),
  );
}

/** Volume of the pockets that may be open behind each door, its own included, up to the next chamber of the stack, m3. */
function volumesBehind(rig: Rig, model: FlowModel): Float64Array {
  const volumes = new Float64Array(rig.doors.length);
  for (const { members } of rig.stacks) {
    let sum = 0;
    for (const member of [...members].reverse()) {
      sum = member.kind === 'chamber' ? 0 : sum + model.network.open[member.index]!;
      if (member.kind === 'door') volumes[member.index] = Math.max(volumes[member.index]!, sum);
    }
  }
  return volumes;
}

const SHORT = 0.99;

/** Strokes at the orifice level before the one that is looked at. */
const SETTLING = 1;

export function detailOf(rig: Rig, model: FlowModel, stroke: StrokeFacts): DetailFacts | null {
  const { law } = model;
  const areas = effectiveAreas(rig.doors);
  if (law.phase === 'packed' || typeof areas === 'string' || model.network.measured.length > 0) return null;
  if (stroke.trace.stopped) return null;
  const pattern = strokePattern(rig, stroke);
  const program = compileStroke(model.network, pattern);
  const masses = triggerMasses(rig, model, stroke);
  const still = { ...model, lines: [], start: masses };
  const balance = new Balance(still, startContents(still, program.startVolumes));
  const fine =
    law.phase === 'gas'
      ? gasStroke(new Orifice({ ...still, law, areas }, startContents(still, program.startVolumes)), pattern)
      : liquidStroke(new LiquidOrifice({ ...still, law, areas }, startContents(still, program.startVolumes)), pattern);
  const put = (mass: Float64Array): void => masses.forEach((m, k) => (mass[k] = m));
  for (let k = 0; k < SETTLING; k++) {
    if (!fine.run()) return null;
    balance.stroke(program);
    put(fine.mass);
    put(balance.contents.mass);
  }
  const cutOffs = fine.run();
  if (!cutOffs) return null;
  balance.stroke(program);
  return {
    stacks: rig.stacks.map((stack, index) => {
      const to = stack.members[stack.members.length - 1]!.index;
      const moved = (mass: Float64Array): number => (mass[to]! - masses[to]!) / Math.max(1, pattern.strokes);
      return { stack: index, moved: moved(fine.mass), balance: moved(balance.contents.mass) };
    }),
    shortFills: cutOffs.filter((cut) => cut.fill < SHORT),
  };
}

interface FineStroke {
  readonly mass: Float64Array;
  /** One stroke; what its doors cut off, or null where it could not be followed. */
  readonly run: () => readonly CutOff[] | null;
}

function gasStroke(orifice: Orifice, pattern: StrokePattern): FineStroke {
  const run = (): readonly CutOff[] | null => {
    const { complete, cutOffs } = orifice.stroke(pattern);
    return complete ? cutOffs : null;
  };
  return { mass: orifice.contents.mass, run };
}

function liquidStroke(liquid: LiquidOrifice, pattern: StrokePattern): FineStroke {
  const run = (): readonly CutOff[] | null => (liquid.stroke(pattern) ? liquidFills(liquid.model, pattern) : null);
  return { mass: liquid.contents.mass, run };
}
