/**
 * What flow follows, asked against timing. The contents turn sensors, which move doors: the sensors' moments are taken out of the followed
 * run and given to the event engine as operations, which knows nothing of contents. It must make the same changes and movements, and the
 * strokes, masses and moments that flow states must be those of its doors.
 */
import { timingModels } from '../../server/core/diagram/timing/model';
import { scenarioCourse } from '../../server/core/metrics/scenario-course';
import { type MotionPath, notShutAt, positionAt } from '../../server/core/model/motion';
import type { Rig, Scenario } from '../../server/core/model/rig';
import { flowJson } from '../../server/core/report/flow-json';
import { scenarioFlowJson } from '../../server/core/report/scenario-flow';
import { timingJson } from '../../server/core/report/timing-json';
import type { CoupledRun } from '../../server/core/run/coupled';
import { strokePattern } from '../../server/core/run/door-pattern';
import type { RigFacts } from '../../server/core/run/facts';
import { modesOf } from '../../server/core/run/modes';
import { quickRun, scenarioRun } from '../../server/core/run/scenario-run';
import { startSensors } from '../../server/core/run/sensing';
import { traceScenario } from '../../server/core/timing/scenario';
import type { Trace } from '../../server/core/timing/trace';
import type { That } from './ask-editor';

/** Asks flow about every scenario and every stroke of a rig; the scenarios' runs, for who counts them. */
export function askFollowed(that: That, facts: RigFacts): CoupledRun[] {
  askStrokes(that, facts);
  askModes(that, facts);
  return facts.rig.scenarios.flatMap((scenario, k) => {
    const run = scenarioRun(facts.rig, k);
    if (!run || run.trace.stopped) return [];
    const replayed = replay(facts.rig, scenario, run);
    askRun(that, facts.rig, run.trace, replayed, `scenario ${scenario.name}`);
    askPoints(that, facts, k, replayed);
    askOthers(that, facts, k, replayed);
    return [run];
  });
}

/** The event engine alone, with every sensor operated at the moments at which the contents turned it. */
function replay(rig: Rig, scenario: Scenario, { trace }: CoupledRun): Trace {
  const { nets } = rig.network;
  const whole = { at: rig.at, source: rig.at };
  const turned = trace.edges.flatMap(({ t, net, value }): Scenario['steps'] => {
    if (nets[net]!.kind !== 'sensor') return [];
    const at = { nominal: t, min: t, max: t, at: whole.at };
    return [{ at, action: 'sensor', target: nets[net]!.index, on: value, source: whole.source }];
  });
  const operated = scenario.steps.filter(({ action }) => action === 'switch' || action === 'power');
  const steps = [...operated, ...turned].sort((a, b) => a.at.nominal - b.at.nominal);
  const sensors = rig.sensors.map((s) => ({ ...s, initiallyOn: trace.initial[s.net]! }));
  return traceScenario({ ...rig, sensors }, { ...scenario, steps }, trace.end);
}

const edgesOf = ({ edges }: Trace, end: number): string =>
  edges
    .filter(({ t }) => t >= 0 && t <= end)
    .map(({ t, net, value }) => `${t} ${net} ${value}`)
    .join('\n');

const movesOf = ({ doors }: Trace, end: number): string =>
  doors
    .flatMap(({ moves }, door) =>
      moves.filter(({ t }) => t >= 0 && t <= end).map((m) => `${door} ${m.t} ${m.from} ${m.to} ${m.arrives}`),
    )
    .join('\n');

function askRun(that: That, { network, doors }: Rig, followed: Trace, replayed: Trace, where: string): void {
  const { end } = followed;
  const differ = (a: string, b: string): string => {
    const [mine, theirs] = [a.split('\n'), b.split('\n')];
    const first = mine.findIndex((line, k) => line !== theirs[k]);
    return `"${mine[first] ?? 'end'}" and "${theirs[first < 0 ? mine.length : first] ?? 'end'}"`;
  };
  const [mine, theirs] = [movesOf(followed, end), movesOf(replayed, end)];
  that(mine === theirs, `${where}: flow moves doors (${doors.length}) otherwise than trace, ${differ(mine, theirs)}`);
  const [nets, others] = [edgesOf(followed, end), edgesOf(replayed, end)];
  that(nets === others, `${where}: flow has changes of ${network.nets.length} nets otherwise, ${differ(nets, others)}`);
}

/** Strokes counted at each point, and masses, which change only while a door is off its seat where nothing else moves any. */
function askPoints(that: That, facts: RigFacts, scenario: number, { doors }: Trace): void {
  const { rig } = facts;
  const json = scenarioFlowJson(facts, scenario);
  that(json !== null, `flow --scenario ${rig.scenarios[scenario]!.name} has nothing, though the scenario is followed`);
  const first = rig.stacks[0]?.members.find((m) => m.kind === 'door')?.index;
  const leaves = first === undefined ? [] : doors[first]!.moves.filter((m) => m.to === 1 && m.from === 0);
  const isShut = rig.lines.length === 0 && rig.doors.every((door) => door.leak === null);
  const moments = doors.flatMap(({ moves }) => moves.flatMap((m) => [m.t, m.arrives]));
  json?.points.forEach(({ seconds, strokes, chambers }, k) => {
    const t = Math.round(seconds * 1e6);
    const counted = leaves.filter((m) => m.t <= t).length;
    that(strokes === counted, `at ${seconds} s flow counts ${strokes} strokes, trace ${counted}`);
    const before = json.points[k - 1];
    if (!before || !isShut) return;
    const from = Math.round(before.seconds * 1e6);
    const still = [from, ...moments.filter((m) => m > from && m < t)].every((m) => !doors.some((d) => notShutAt(d, m)));
    const same = chambers.every(({ mass }, c) => Math.abs(mass - before.chambers[c]!.mass) <= 1e-9 * mass);
    const moves = doors.some(({ moves: all }) => all.some((m) => m.t > from && m.t <= t));
    that(same || !still || moves, `between ${before.seconds} s and ${seconds} s contents change through shut doors`);
  });
}

/** The course that requirements read has the same movements; so has the picture of the scenario. */
function askOthers(that: That, facts: RigFacts, scenario: number, replayed: Trace): void {
  const { rig } = facts;
  const { name } = rig.scenarios[scenario]!;
  const course = scenarioCourse(rig, rig.scenarios[scenario]!);
  const end = Math.min(typeof course === 'string' ? 0 : course.trace.end, replayed.end);
  if (typeof course !== 'string')
    that(movesOf(course.trace, end) === movesOf(replayed, end), `scenario ${name}: requirements read other movements`);
  const picture = timingModels(facts).find((m) => m.id.endsWith(`/scenario ${name}`));
  if (!picture) return;
  for (const lane of picture.lanes.filter(({ id }) => id.startsWith('door:'))) {
    const { moves } = replayed.doors[rig.doors.findIndex((d) => lane.id === `door:${d.name}`)]!;
    const drawn = lane.edges.filter((e) => e.kind === 'opens' && e.t >= 0).map((e) => e.t);
    const done = moves.filter((m) => m.to === 1 && m.from === 0 && m.t <= picture.end).map((m) => m.t);
    that(
      drawn.join() === done.join(),
      `scenario ${name}: the picture opens ${lane.id} at ${drawn.join()}, trace at ${done.join()}`,
    );
  }
}

/** The strokes of `flow` are those of `timing`, by name, interval and where each door stands at each of its moments. */
function askStrokes(that: That, facts: RigFacts): void {
  const { rig, timing } = facts;
  if (!facts.flow) return;
  const triggers = timingJson(facts).triggers;
  const json = flowJson(facts);
  const named = [...json.strokes, ...json.notComputed].map(({ trigger }) => trigger);
  for (const name of named)
    that(
      timing.strokes.some(({ trigger }) => trigger.name === name || name.includes(trigger.name)),
      `flow has a stroke of ${name}, timing has ${triggers.length} others`,
    );
  timing.strokes.forEach((stroke) => {
    const pattern = strokePattern(rig, stroke);
    const { trace, starts } = stroke;
    const shift = pattern.repeats ? starts.find((t) => samePlaces(pattern.doors, trace, t, pattern.duration)) : 0;
    const from = pattern.repeats ? (shift ?? stroke.pattern?.from ?? 0) : trace.start;
    that(
      samePlaces(pattern.doors, trace, from, pattern.duration),
      `the doors of flow's stroke of ${stroke.trigger.name} stand otherwise than timing's from ${from} on`,
    );
  });
}

function samePlaces(paths: readonly MotionPath[], trace: Trace, from: number, duration: number): boolean {
  return paths.every((path, door) => {
    const { moves } = trace.doors[door]!;
    const moments = moves.flatMap((m) => [m.t, m.arrives]).filter((t) => t >= from && t < from + duration);
    return moments.every((t) => Math.abs(positionAt(path, t - from) - positionAt(trace.doors[door]!, t)) < 1e-9);
  });
}

/** What flow follows thousands of strokes by (the pattern while sensors stay) is the stroke of timing, where nothing but its sensor is on. */
function askModes(that: That, { rig, timing }: RigFacts): void {
  const model = quickRun(rig)?.model;
  if (!model || timing.turned.length > 0 || timing.atRest.moves) return;
  const start = startSensors(rig, model);
  if (start.some((on) => on)) return;
  const modes = modesOf(rig);
  for (const { sensor, trigger, becomes, pattern, trace, intervals } of timing.strokes) {
    if (sensor < 0 || !becomes || trace.stopped || intervals.length > 0) continue;
    const { cycle, known } = modes(
      start.map((on, k) => on || k === sensor),
      start,
    );
    const moving = pattern !== null && trace.doors.some(({ moves }) => moves.some((m) => m.t >= pattern.from));
    that(known, `flow does not know what ${trigger.name} does, timing does`);
    const repeats = cycle?.doors.some(({ moves }) => moves.length > 0) === true;
    that(repeats === moving, `doors ${repeats ? 'go on' : 'stand'} in flow with ${trigger.name} on, in timing not`);
    if (!cycle || !pattern || !moving) continue;
    const period = pattern.to - pattern.from;
    that(cycle.duration === period, `flow's cycle lasts ${cycle.duration}, timing's ${period} of ${trigger.name}`);
    rig.doors.forEach(({ name }, door) => {
      const [mine, theirs] = [
        offSeat(cycle.doors[door]!, 0, cycle.duration),
        offSeat(trace.doors[door]!, pattern.from, pattern.to),
      ];
      that(mine === theirs, `${name} is off its seat for ${mine} in flow's cycle, for ${theirs} in timing's`);
    });
  }
}

/** How long a door is off its seat within `[from, to)`. */
function offSeat(path: MotionPath, from: number, to: number): number {
  const moments = path.moves.flatMap((m) => [m.t, m.arrives]).filter((t) => t > from && t < to);
  const times = [from, ...moments.sort((a, b) => a - b), to];
  return times.slice(1).reduce((sum, t, k) => sum + (notShutAt(path, times[k]!) ? t - times[k]! : 0), 0);
}
