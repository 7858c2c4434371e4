/**
 * Replays a counter-example in the event engine, which shares no code with the proof's own steps, and looks whether the property is
 * broken there, too. Each element and door keeps one time for the whole replay; where the counter-example used several, the
 * last and then the first of them is tried.
 */
import type { Rig } from '../../model/rig';
import { createEngine } from '../engine';
import type { TimeChoice } from '../program';
import type { Trace } from '../trace';
import type { Property } from './monitor';
import type { ProofNetwork } from './network';
import { breaks } from './trace-property';
import type { Duration, Witness } from './witness';

/** A little time after the last step, so that what breaks at that moment is seen to last. */
const AFTER = 1;
/** How long a rig may take to come to rest in a replay. */
const REST = 3_600_000_000;

export interface Replay {
  readonly trace: Trace;
  /** Null where the property is broken in the event engine as well, else why the counter-example does not count. */
  readonly doubt: string | null;
}

export function replay(rig: Rig, property: Property, witness: Witness, network: ProofNetwork): Replay {
  let trace: Trace | null = null;
  for (const durations of [[...witness.durations].reverse(), witness.durations]) {
    trace = run(rig, property, witness, network, durations);
    if (breaks(property, rig, trace)) return { trace, doubt: null };
  }
  return {
    trace: trace!,
    doubt: 'a path that breaks it was found, but not one whose times stay the same from stroke to stroke',
  };
}

function run(
  rig: Rig,
  property: Property,
  witness: Witness,
  network: ProofNetwork,
  durations: readonly Duration[],
): Trace {
  const pick = (what: Duration['what'], nominal: (index: number) => number) => (index: number) =>
    durations.find((d) => d.what === what && d.index === index)?.time ?? nominal(index);
  const times: Required<Omit<TimeChoice, 'scan'>> = {
    preset: pick('preset', (e) => rig.network.elements[e]!.preset?.nominal ?? 0),
    response: pick('response', (e) => rig.network.elements[e]!.response.nominal),
    opensIn: pick('opens', (d) => rig.doors[d]!.opensIn.nominal),
    closesIn: pick('closes', (d) => rig.doors[d]!.closesIn.nominal),
  };
  const initial = new Set(network.inputs.filter((input) => input.initial).map((input) => input.net));
  const engine = createEngine(rig, { inputs: (net) => initial.has(net), times });
  for (const { t, input, value } of witness.operations) {
    const { net, movedBehind } = network.inputs[input]!;
    engine.setInput(net, value, t - (movedBehind < 0 ? 0 : times.response(movedBehind)));
  }
  engine.advanceTo(witness.end + AFTER);
  if (property.kind === 'left-open') while (engine.nextTime() < witness.end + REST) engine.step();
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + AFTER));
  return engine.trace();
}
