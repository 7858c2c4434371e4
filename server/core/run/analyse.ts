/** Everything worked out about one rig, from its resolved form: the one entry for checks, requirements, diagrams and reports. */
import { modelFlow } from '../flow/flow-model';
import type { FlowFacts } from '../flow/facts';
import type { Rig } from '../model/rig';
import { analyseTiming } from '../timing/analyse';
import type { TimingOptions } from '../timing/analyse';
import type { RigFacts } from './facts';
import { flowFacts } from './flow-facts';
import { startSensors } from './sensing';

/** Facts of a rig at nominal times. What is about flow is worked out when it is first read. */
export function analyseRig(rig: Rig, options: TimingOptions = {}): RigFacts {
  const timing = analyseTiming(rig, { ...sensorsAtStart(rig), ...options });
  let flow: { readonly facts: FlowFacts | null } | null = null;
  return {
    rig,
    timing,
    get flow() {
      flow ??= { facts: flowFacts(rig, timing) };
      return flow.facts;
    },
  };
}

/** Sensors start as the contents of their chambers give them, where those are known. */
function sensorsAtStart(rig: Rig): TimingOptions {
  const { model } = modelFlow(rig);
  if (!model) return {};
  const values = startSensors(rig, model);
  return { initiallyOn: (sensor) => values[sensor] ?? false };
}
