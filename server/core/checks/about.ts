/**
 * What a finding is about: indices into its rig, stated where the finding is made. Whether one finding explains another is asked of these
 * (`causes.ts`), never of the words of a message.
 */
import { metricNamed } from '../metrics/registry';
import { decidingNets, doorsNamed, netsNamed } from '../model/logic';
import type { MetricArgument, Requirement, Rig } from '../model/rig';
import { stagesOf } from '../model/stages';

/** Subjects of a finding. */
export interface About {
  readonly doors?: readonly number[];
  /** Signals, timers, sensors and switches, by their nets. */
  readonly nets?: readonly number[];
  readonly chambers?: readonly number[];
  /** Nets that would have to change first: a finding about one of them explains this one, whatever its code. */
  readonly waitsFor?: readonly number[];
  /** A figure of time alone: what passes through the doors has no part in it. */
  readonly isTime?: boolean;
}

/** Nothing in particular: a finding of the whole rig. */
export const WHOLE_RIG: About = {};

/** What a requirement names: doors, the nets it reads, chambers (of feeds and draws: the one that they lead into or out of). */
export function aboutRequirement(rig: Rig, requirement: Requirement): About {
  return {
    doors: doorsNamed(rig, requirement),
    nets: netsNamed(rig, requirement),
    chambers: requirement.args.flatMap((argument) => chamberOf(rig, argument) ?? []),
    isTime: metricNamed(requirement.metric)?.kind !== 'flow',
  };
}

function chamberOf(rig: Rig, argument: MetricArgument): number | null {
  if (argument.kind !== 'item') return null;
  if (argument.of === 'chamber') return argument.index;
  return argument.of === 'feed' || argument.of === 'draw' ? (rig.lines[argument.index]?.chamber ?? null) : null;
}

/**
 * The doors that a finding has to do with: its own, those that one of its nets helps to decide about, and those next to its chambers.
 * All doors where it names no subject.
 */
export function doorsConcerned(rig: Rig, { doors = [], nets = [], chambers = [] }: About): ReadonlySet<number> {
  if (doors.length + nets.length + chambers.length === 0) return new Set(rig.doors.keys());
  const concerned = new Set(doors);
  if (nets.length > 0)
    rig.doors.forEach((_, door) => {
      const deciding = decidingNets(rig, door);
      if (nets.some((net) => deciding.has(net))) concerned.add(door);
    });
  if (chambers.length > 0)
    for (const stage of stagesOf(rig))
      if (chambers.includes(stage.upstream) || chambers.includes(stage.downstream))
        stage.doors.forEach((door) => concerned.add(door));
  return concerned;
}
