/** Everything computed about one rig, from its resolved form: the one entry for checks, requirements, diagrams and reports. */
import { modelFlow } from '../flow/flow-model';
import type { FlowFacts } from '../flow/facts';
import type { Rig } from '../model/rig';
import { timingOf } from '../timing/analyse';
import type { TimingOptions } from '../timing/analyse';
import type { TimingFacts } from '../timing/facts';
import type { RigFacts } from './facts';
import { flowFacts } from './flow-facts';
import { startSensors } from './sensing';
import { finish, type Kept, kept, standsBehind, type Work } from '../work/work';

/** Facts of a rig at nominal times. What is about flow is computed when it is first read. */
export const analyseRig = (rig: Rig, options: TimingOptions = {}): RigFacts => finish(analysisOf(rig, options));

/** The same in steps. */
export function* analysisOf(rig: Rig, options: TimingOptions = {}): Work<RigFacts> {
  const timing = yield* timingOf(rig, { ...startOptions(rig), ...options });
  return factsWith(
    rig,
    timing,
    kept(() => flowFacts(rig, timing)),
  );
}

/** Flow facts, computed at the first reading; shared by all copies of the same facts. */
type FlowCell = Kept<FlowFacts | null>;

const cells = new WeakMap<RigFacts, FlowCell>();

function factsWith(rig: Rig, timing: TimingFacts, cell: FlowCell): RigFacts {
  const facts: RigFacts = {
    rig,
    timing,
    get flow() {
      return cell.value();
    },
  };
  cells.set(facts, cell);
  standsBehind(facts, 'flow', cell);
  return facts;
}

/**
 * The same facts for the same rig read again from another place of its text. Nothing is computed; places inside the flow facts
 * (their problems) stay those of the first reading.
 */
export function withRig(facts: RigFacts, rig: Rig): RigFacts {
  const cell = cells.get(facts);
  return cell ? factsWith(rig, facts.timing, cell) : { ...facts, rig };
}

/** Sensors start as the contents of their chambers give them, where those are known. */
export function startOptions(rig: Rig): TimingOptions {
  const { model } = modelFlow(rig);
  if (!model) return {};
  const values = startSensors(rig, model);
  return { initiallyOn: (sensor) => values[sensor] ?? false };
}
