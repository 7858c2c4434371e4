/** Faults that no door and no signal shows, because they change what flows alone: shut doors that leak, feeds and draws at another rate. */
import { modelFlow } from '../flow/flow-model';
import type { Door, Line, Quantity, Rig } from '../model/rig';
import { formatNumber, formatSi } from '../units/units';
import { exact } from './flow-forward';
import { say } from '../words/say';

export interface FlowFault {
  readonly kind: 'leak' | 'rate';
  readonly mode: string;
  readonly rig: Rig;
}

/** Parts of its stated rate at which a feed or draw is tried, and of its opening that a shut door is. Own choice, no source. */
const RATES = [0.25, 0.5, 0.75, 1.5, 2, 4] as const;
const LEAKS = [0.005, 0.02, 0.1] as const;
/** What stands for the opening of a door that states none, m2. */
const UNSTATED_OPENING = 1e-3;

/** Empty for a rig whose contents cannot be followed. */
export function flowFaults(rig: Rig, rates: readonly number[] = RATES, leaks: readonly number[] = LEAKS): FlowFault[] {
  const { model } = modelFlow(rig);
  if (!model) return [];
  const slow = rig.lines.flatMap((line, k) =>
    rates.map((part): FlowFault => ({
      kind: 'rate',
      mode: say`${line.kind} ${line.name} at ${formatNumber(100 * part)} % of its rate`,
      rig: { ...rig, lines: rig.lines.map((l, i) => (i === k ? withRate(l, part, rig) : l)) },
    })),
  );
  // A packed medium has no pressure that could drive a leak.
  if (model.law.phase === 'packed') return slow;
  const leaking = rig.doors.flatMap((door, k) =>
    leaks.map((part): FlowFault => {
      const { words, leak } = leakOf(door, part, rig);
      return {
        kind: 'leak',
        mode: say`door ${door.name} leaks (${words})`,
        rig: { ...rig, doors: rig.doors.map((d, i) => (i === k ? { ...d, leak } : d)) },
      };
    }),
  );
  return [...slow, ...leaking];
}

/** The leak stated, and as much more: a part of the opening, or of what stands for one. */
function leakOf(door: Door, part: number, rig: Rig): { readonly words: string; readonly leak: Door['leak'] } {
  const hasOpening = door.area !== null || door.kv !== null || door.conductance !== null;
  if (door.leak && door.leak.kind !== 'share') {
    const { kind, value } = door.leak;
    const more = value.nominal * (1 + 100 * part);
    return {
      words: say`${formatNumber(1 + 100 * part)} times what is stated`,
      leak: { kind, value: exact(more, value, rig) },
    };
  }
  if (!hasOpening) {
    const area = part * UNSTATED_OPENING;
    return { words: formatSi(area, 'area'), leak: { kind: 'area', value: exact(area, null, rig) } };
  }
  const share = part + (door.leak?.value.nominal ?? 0);
  return {
    words: say`${formatNumber(100 * share)} % of its opening`,
    leak: { kind: 'share', value: exact(share, door.leak?.value ?? null, rig) },
  };
}

function withRate(line: Line, part: number, rig: Rig): Line {
  const scaled = (value: Quantity): Quantity => exact(part * value.nominal, value, rig);
  const { rate, curve } = line;
  return {
    ...line,
    rate: rate && { ...rate, value: scaled(rate.value) },
    curve: curve && { ...curve, points: curve.points.map((p) => ({ ...p, flow: scaled(p.flow) })) },
  };
}
