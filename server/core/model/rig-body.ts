/** The second pass: statements of a rig, parts expanded, in the order of the text → its items and control network. */
import type { Statement } from '../../../grammar/src/ast';
import { atmospherePlace } from './atmosphere';
import { readChoosable } from './choosable';
import { type AtmospherePlace, type Context, isMisread, markIncomplete } from './context';
import { absentController, resolveController } from './controller';
import type { Step, Tally } from './declarations';
import { evaluate, valueOf } from './evaluate';
import {
  resolveAtmosphere,
  resolveChamber,
  resolveDoor,
  resolveLine,
  resolveSensor,
  resolveStack,
  resolveSwitch,
} from './items';
import { initiallyOn } from './initially-on';
import { resolveMedium } from './medium';
import { bind, lookup } from './names';
import { compileDrive, compileSignal, makerFor, type NetworkBuilder, scratchOf, type Timing } from './network';
import type { Source } from './problem';
import { resolvePreference, resolveRequirement } from './requirements';
import type {
  Chamber,
  Choosable,
  Door,
  Drive,
  Line,
  Medium,
  Preference,
  Requirement,
  Rig,
  Scenario,
  Sensor,
  Sequence,
  Signal,
  Stack,
  Switch,
} from './rig';
import { reportIdleSteps, resolveScenario } from './scenarios';
import { compileSequence, readSequence } from './sequences';
import { type Singles, singlesOf, supplyOf } from './singles';

type RigBody = Omit<Rig, 'name' | 'title' | 'at' | 'whole' | 'doc'>;

interface Builder {
  readonly ctx: Context;
  readonly network: NetworkBuilder;
  readonly timing: Timing;
  readonly chambers: Chamber[];
  readonly doors: Door[];
  readonly stacks: Stack[];
  readonly lines: Line[];
  readonly switches: Switch[];
  readonly sensors: Sensor[];
  readonly signals: Signal[];
  readonly drives: Drive[];
  readonly sequences: Sequence[];
  readonly requirements: Requirement[];
  readonly preferences: Preference[];
  readonly choosable: Choosable[];
  readonly scenarios: Scenario[];
  /** Doors that a drive statement names. */
  readonly driven: ReadonlySet<number>;
  unreadIntent: boolean;
  unreadContents: boolean;
}

/** All steps, those of placed parts where they are placed. */
function* flattened(steps: readonly Step[]): Generator<Step> {
  for (const step of steps) {
    yield step;
    if (step.inner !== null) yield* flattened(step.inner);
  }
}

/** Resolves the declared steps of a rig (or of a part that is read on its own). */
export function resolveSteps(tally: Tally, declared: readonly Step[], at: Source): RigBody {
  const { ctx } = tally;
  ctx.incomplete = [];
  const steps = [...flattened(declared)];
  const only = singlesOf(ctx, steps);
  const outside = atmospherePlace(tally.counts.chamber, only.atmosphere ?? null, at);
  ctx.atmosphere = outside;
  const { controller, timing } =
    only.controller === undefined
      ? absentController(at)
      : resolveController({ ctx, scope: only.controller.scope }, only.controller.statement);
  const b = emptyBuilder(tally, timing, drivenDoors(ctx, steps));
  for (const step of steps) {
    if (step.statement.damaged && !ASIDE.has(step.statement.kind))
      markIncomplete({ ctx, scope: step.scope }, step.statement.span);
    const isUnread = isMisread(ctx, () => resolveStep(b, step)) || step.statement.damaged === true;
    b.unreadContents ||= isUnread && OF_CONTENTS.has(step.statement.kind);
  }
  const medium = resolveContents(b, only, outside);
  reportIdleSteps(ctx, b);
  return {
    medium,
    chambers: b.chambers,
    doors: b.doors,
    stacks: b.stacks,
    lines: b.lines,
    supply: only.supply === undefined ? null : supplyOf({ ctx, scope: only.supply.scope }, only.supply.statement),
    controller,
    switches: b.switches,
    sensors: b.sensors.map((sensor) => ({ ...sensor, initiallyOn: initiallyOn(b, sensor) })),
    signals: b.signals,
    drives: b.drives,
    sequences: b.sequences,
    requirements: b.requirements,
    preferences: b.preferences,
    choosable: b.choosable,
    scenarios: b.scenarios,
    network: b.network,
    incomplete: ctx.incomplete,
    unreadIntent: b.unreadIntent,
    ...(b.unreadContents ? { unreadContents: true } : {}),
  };
}

/** The medium and the air outside, of each of which a rig has one. */
function resolveContents(b: Builder, { medium }: Singles, outside: AtmospherePlace): Medium | null {
  const { ctx } = b;
  let read: Medium | null = null;
  const isUnread = isMisread(ctx, () => {
    const air = resolveAtmosphere(ctx, outside);
    if (air !== null) b.chambers[outside.index] = air;
    ctx.atmosphere = null;
    read = medium === undefined ? null : resolveMedium({ ctx, scope: medium.scope }, medium.statement);
  });
  b.unreadContents ||= isUnread || medium?.statement.damaged === true || outside.statement?.statement.damaged === true;
  return read;
}

/** Nothing of a rig but its inputs' nets; statements are added one after the other. */
function emptyBuilder({ ctx, nets }: Tally, timing: Builder['timing'], driven: Builder['driven']): Builder {
  return {
    ctx,
    network: { nets, elements: [] },
    timing,
    chambers: [],
    doors: [],
    stacks: [],
    lines: [],
    switches: [],
    sensors: [],
    signals: [],
    drives: [],
    sequences: [],
    requirements: [],
    preferences: [],
    choosable: [],
    scenarios: [],
    driven,
    unreadIntent: false,
    unreadContents: false,
  };
}

/** Which doors have a drive, before sequences are read. Reports nothing: the drives themselves do. */
function drivenDoors(ctx: Context, steps: readonly Step[]): ReadonlySet<number> {
  const quiet: Context = { ...ctx, problems: [], uses: [], reported: new Set(), used: new Set(), usedAt: new Set() };
  const driven = new Set<number>();
  if (!steps.some((step) => step.statement.kind === 'sequence')) return driven;
  for (const { statement, scope } of steps) {
    if (statement.kind !== 'drive') continue;
    const target = bind({ ctx: quiet, scope }, statement.target, ['door'])?.binding;
    if (target?.kind === 'door') driven.add(target.index);
  }
  return driven;
}

/** Statements on which no fact of the rig rests. */
const ASIDE: ReadonlySet<string> = new Set(['require', 'prefer', 'scenario', 'part', 'rig']);

/** Statements that figures of the contents rest on. */
const OF_CONTENTS: ReadonlySet<string> = new Set(['chamber', 'door', 'stack', 'feed', 'draw', 'atmosphere', 'medium']);

/** Whether some of what a requirement states as meant is not known. */
function isUnread(requirement: Requirement | null, { damaged }: Statement): boolean {
  return requirement === null || damaged === true || requirement.args.some((arg) => arg.kind === 'unknown');
}

/** Puts an item at its index; one with index -1 was read for its problems only. */
function put<T>(list: T[], step: Step, item: T): void {
  if (step.binding !== null && 'index' in step.binding && step.binding.index >= 0) list[step.binding.index] = item;
}

function resolveStep(b: Builder, step: Step): void {
  const { ctx } = b;
  const { statement, scope } = step;
  const here = { ctx, scope };
  switch (statement.kind) {
    case 'let':
      return resolveLet(b, step);
    case 'place':
      if (step.inner === null || lacksArguments(step)) markIncomplete(here, statement.span);
      return readArguments(ctx, step);
    case 'chamber':
      return put(b.chambers, step, resolveChamber(here, statement));
    case 'door':
      return put(b.doors, step, resolveDoor(here, statement));
    case 'stack': {
      const stack = resolveStack(here, statement, b.stacks);
      if (stack === null) markIncomplete(here, statement.span);
      else b.stacks.push(stack);
      return;
    }
    case 'feed':
    case 'draw':
      return put(b.lines, step, resolveLine(here, statement));
    case 'switch':
      return put(b.switches, step, resolveSwitch(here, statement, netIn(step)));
    case 'sensor':
      return put(b.sensors, step, resolveSensor(here, statement, netIn(step)));
    case 'require': {
      const requirement = resolveRequirement(here, statement);
      b.unreadIntent ||= isUnread(requirement, statement);
      if (requirement !== null && !statement.damaged) b.requirements.push(requirement);
      return;
    }
    case 'prefer': {
      const preference = resolvePreference(here, statement);
      if (preference !== null && !statement.damaged) b.preferences.push(preference);
      return;
    }
    case 'scenario':
      return put(b.scenarios, step, resolveScenario(here, statement));
    default:
      return resolveControl(b, step);
  }
}

function netIn(step: Step): number {
  return step.binding !== null && 'net' in step.binding ? step.binding.net : -1;
}

/** Signals, drives and sequences: what makes elements. */
function resolveControl(b: Builder, step: Step): void {
  const { ctx, network, timing } = b;
  const { statement, scope } = step;
  if (statement.kind === 'signal') {
    const net = netIn(step);
    const maker = makerFor(
      { ctx, scope },
      net < 0 ? scratchOf(network) : network,
      timing,
      scope.prefix + statement.name.text,
    );
    put(b.signals, step, compileSignal(maker, statement, net < 0 ? null : net));
  } else if (statement.kind === 'drive') {
    const drive = compileDrive(
      makerFor({ ctx, scope }, network, timing, `drive ${scope.prefix}${statement.target.text}`),
      statement,
    );
    if (drive !== null) b.drives.push(drive);
  } else if (statement.kind === 'sequence') {
    const maker = makerFor({ ctx, scope }, network, timing, scope.prefix + statement.name.text);
    const read = readSequence(maker, statement, (door) => b.driven.has(door));
    put(b.sequences, step, read.sequence);
    if (step.binding !== null && 'index' in step.binding && step.binding.index >= 0) {
      b.drives.push(...compileSequence(maker, read));
    }
  }
}

function resolveLet({ ctx, choosable }: Builder, step: Step): void {
  if (step.binding?.kind !== 'let') return;
  valueOf(ctx, step.binding.cell);
  const chosen = readChoosable(ctx, step.binding.cell);
  if (chosen !== null) choosable.push(chosen);
}

/** Whether a place gives its part too few or too many (reported). */
function lacksArguments({ statement, scope }: Step): boolean {
  if (statement.kind !== 'place') return false;
  const part = lookup(scope, statement.part.text);
  return part?.kind === 'part' && part.statement.parameters.length !== statement.args.length;
}

/** Reads the arguments of a place where they are written: names of any kind but parts, or quantities. */
function readArguments(ctx: Context, { statement, scope }: Step): void {
  if (statement.kind !== 'place') return;
  for (const arg of statement.args) {
    if (arg.kind === 'reference') {
      bind({ ctx, scope }, arg.name, ['chamber', 'door', 'feed', 'draw', 'switch', 'sensor', 'signal', 'let', 'place']);
    } else evaluate({ ctx, scope }, arg);
  }
}
