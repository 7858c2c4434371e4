/**
 * An edge of the picture in the hand: which values of the text move it, where it may go, what follows, and the edit that keeps it there.
 * Everything is measured on trials of the text; what is offered is what would be written.
 */
import { putAt, slopeAt, stopsOf, type Bounds, type HoldsAt, type Put } from '../../choose/by-hand';
import { rewritten } from '../../choose/edit';
import { chainOf } from '../../diagram/timing/causes';
import { pictureCost, pictureTrace, pictureWithId, type TimingModel } from '../../diagram/timing/model';
import { evaluateRequirement } from '../../metrics/evaluate';
import { metricNamed } from '../../metrics/registry';
import type { Source, TextEdit } from '../../model/problem';
import type { Requirement, Rig } from '../../model/rig';
import { edgeMoments } from '../../run/edge-ranges';
import { diffWork, type DiffGroup, type DiffRow } from '../../report/diff';
import type { RigFacts } from '../../run/facts';
import { finish, patiently, type Work } from '../../work/work';
import { literalsBehind, type Literal } from './literals';
import type { Trial } from './trial';
import { say } from '../../words/say';

/** One value of the text that moves the edge. */
export interface Choice {
  /** `settle`, `time of upper_on`, `step of purge`, `travel of upper` */
  readonly label: string;
  readonly literal: Literal;
  /** µs by which the edge moves for each µs of the value. */
  readonly slope: number;
  readonly bounds: Bounds;
}

/** The edge that is held: of one picture of the rig. */
export interface Held {
  readonly trial: Trial;
  readonly picture: string;
  readonly edge: string;
}

export interface HeldAt extends Put {
  /** The literal as it would be written. */
  readonly text: string;
  readonly edit: TextEdit;
  readonly timing: TimingModel;
  readonly changes: readonly VerdictChange[];
  /** Times that differ from those of the text as it is. */
  readonly differences: readonly DiffRow[];
}

/** A requirement that is met by the text and not by what is held, or the other way round. */
export interface VerdictChange {
  readonly text: string;
  readonly now: 'met' | 'failed' | 'open';
  readonly found: string;
}

/** Longest time that a hand gives: ten times what it was, at least a minute. */
const reach = (value: number): Bounds => ({ low: 0, high: Math.max(10 * value, 60_000_000) });

// ---------------------------------------------------------------- what moves it

/** Units of work on the flow that one step of the hand may cost: some 30 ms. */
const MOST_UNITS = 30_000;

/** Why no edge of a picture can be moved: following its contents takes too long for a hand. Null where it does not. */
export function whyNotByHand({ trial, picture }: Held): string | null {
  const facts = trial.factsWith([]);
  if (!facts || pictureCost(facts, picture) <= MOST_UNITS) return null;
  return say`Contents move this scenario, and following them takes too long to be done by hand: change the times in the text.`;
}

/** Values that move the edge: settings first, then times of the parts themselves; within each the nearest in the chain of causes first. */
export function choicesFor(held: Held): Choice[] {
  const { trial, picture, edge } = held;
  const facts = trial.factsWith([]);
  const model = facts && pictureWithId(facts, picture);
  if (!facts || !model) return [];
  const { document } = trial;
  const textOf = (uri: string): string | undefined => (uri === document.uri ? document.text : document.readText(uri));
  const needs = { resolution: document.resolved(), textOf };
  const choices: Choice[] = [];
  for (const { at, label } of timesAlong(facts.rig, model, edge)) {
    for (const literal of literalsBehind(needs, at)) {
      if (choices.some(({ literal: l }) => l.at.uri === literal.at.uri && l.at.start === literal.at.start)) continue;
      const bounds = boundsOf(facts.rig, literal);
      const slope = slopeAt((value) => momentWith(held, literal, value), literal.value, bounds, probeFor(facts.rig));
      if (slope !== null) choices.push({ label: literal.constant ?? label, literal, slope, bounds });
    }
  }
  return choices;
}

/** What a slope is measured by. */
function probeFor(rig: Rig): number {
  return Math.max(10_000, leastStep(rig));
}

/** The least change of an edge, µs: a scanned controller moves its edges by whole scans. */
function leastStep({ controller }: Rig): number {
  return controller.style === 'scan' ? Math.max(1, controller.time.nominal) : 1;
}

interface TimePlace {
  readonly at: Source;
  readonly label: string;
}

/** Where the times along an edge's chain of causes are written. */
function timesAlong(rig: Rig, model: TimingModel, edge: string): TimePlace[] {
  const settings: TimePlace[] = [];
  const parts: TimePlace[] = [];
  for (const { lane, kind } of chainOf(model.lanes, edge).reverse()) {
    const name = lane.slice(lane.indexOf(':') + 1);
    if (lane.startsWith('door:')) {
      const door = rig.doors.find((d) => d.name === name);
      if (door && (kind === 'opened' || kind === 'shuts'))
        parts.push({ at: (kind === 'opened' ? door.opensIn : door.closesIn).at, label: say`travel of ${name}` });
      continue;
    }
    const element = rig.network.elements.find((e) => rig.network.nets[e.net]?.name === name);
    if (!element) continue;
    const sequence = rig.sequences.find((s) => name === s.name || name.startsWith(`${s.name}/`));
    if (element.preset)
      settings.push({ at: element.preset.at, label: sequence ? say`step of ${name}` : say`time of ${name}` });
    parts.push({ at: element.response.at, label: say`response of ${name}` });
  }
  return [...settings, ...scenarioTimes(rig, model.id), ...parts];
}

function scenarioTimes(rig: Rig, picture: string): TimePlace[] {
  const scenario = rig.scenarios.find((s) => picture === `${rig.name}/scenario ${s.name}`);
  return (scenario?.steps ?? []).map((s) => ({ at: s.at.at, label: say`step of ${scenario!.name}` }));
}

/** The range that a constant states, where the literal is its value; else how far a hand reaches. */
function boundsOf(rig: Rig, { at, value }: Literal): Bounds {
  const choosable = rig.choosable.find(
    (c) => c.valueAt.uri === at.uri && c.valueAt.start === at.start && c.dimension === 'time',
  );
  return choosable ? { low: choosable.low.nominal, high: choosable.high.nominal } : reach(value);
}

// ---------------------------------------------------------------- where it goes

function editFor(literal: Literal, value: number): TextEdit | null {
  const text = value === literal.value ? literal.text : rewritten(literal.text, value);
  return text === null ? null : { at: literal.at, text };
}

export function factsAt({ trial }: Held, literal: Literal, value: number): RigFacts | null {
  const edit = editFor(literal, value);
  return edit && trial.factsWith(value === literal.value ? [] : [edit]);
}

export function momentWith(held: Held, literal: Literal, value: number): number | null {
  const facts = factsAt(held, literal, value);
  const trace = facts && pictureTrace(facts, held.picture);
  return facts && trace ? (edgeMoments(facts.rig, trace).get(held.edge) ?? null) : null;
}

interface PutIn {
  readonly put: Put;
  readonly before: RigFacts;
  readonly facts: RigFacts;
}

/** The edge brought to a moment, or as near as the value goes, with the facts before and then. Null where the text has changed under the hand. */
export function putIn(held: Held, { literal, slope, bounds }: Choice, wanted: number): PutIn | null {
  const momentAt = (value: number): number | null => momentWith(held, literal, value);
  if (momentAt(literal.value) === null) return null;
  const before = held.trial.factsWith([]);
  if (!before) return null;
  const put = putAt(momentAt, literal.value, slope, wanted, bounds, leastStep(before.rig));
  const facts = factsAt(held, literal, put.value);
  return facts && { put, before, facts };
}

/** The same with what follows from it. */
export function heldAt(held: Held, choice: Choice, wanted: number): HeldAt | null {
  const found = putIn(held, choice, wanted);
  if (!found) return null;
  const { put, before, facts } = found;
  const edit = editFor(choice.literal, put.value);
  const timing = pictureWithId(facts, held.picture);
  if (!edit || !timing) return null;
  return {
    ...put,
    text: edit.text,
    edit,
    timing,
    changes: finish(verdictChangesWork(before, facts)),
    differences: finish(differencesWork(before, facts, ['times'])),
  };
}

/** What differs between the text as it is and as it would be. */
export function* differencesWork(
  before: RigFacts,
  after: RigFacts,
  groups: readonly DiffGroup[],
): Work<readonly DiffRow[]> {
  return (yield* diffWork({ facts: before, problems: [] }, { facts: after, problems: [] }, groups)).rows;
}

/** Requirements about times; those about contents cost a filling each and are judged when the text is written. */
function isTimed(requirement: Requirement): boolean {
  return metricNamed(requirement.metric)?.kind !== 'flow' && requirement.during === null;
}

/** What was met and no longer is, and the reverse, as the metrics judge it. */
export function* verdictChangesWork(before: RigFacts, after: RigFacts): Work<VerdictChange[]> {
  const changes: VerdictChange[] = [];
  for (const [k, requirement] of after.rig.requirements.entries()) {
    const same = before.rig.requirements[k];
    if (!same || !isTimed(requirement)) continue;
    const was = yield* patiently(() => evaluateRequirement(before, same));
    yield;
    const now = yield* patiently(() => evaluateRequirement(after, requirement));
    yield;
    if (was.state === now.state) continue;
    const state = now.state === 'met' || now.state === 'failed' ? now.state : 'open';
    changes.push({ text: requirement.text, now: state, found: now.found });
  }
  return changes;
}

// ---------------------------------------------------------------- where something ends

/** What becomes of a requirement beyond: broken, broken within tolerance (where it still holds at nominal times), or met. */
export type Beyond = 'broken' | 'worst' | 'met';

/** A moment of the edge up to which a requirement stands as it stands now. */
export interface HoldStop {
  readonly t: number;
  readonly value: number;
  /** Index of the requirement, and the requirement as written. */
  readonly of: number;
  readonly text: string;
  /** Whether it is broken beyond, or met. */
  readonly beyond: Beyond;
}

/** So far to either side stops are looked for, microseconds of the value. */
const STOPS_WITHIN = 5_000_000;

/** Where requirements end or begin to hold while the value is moved. Yields between trials. */
export function* stopsFor(held: Held, { literal, bounds }: Choice): Work<HoldStop[]> {
  const facts = yield* held.trial.factsWork([]);
  const requirements = facts?.rig.requirements ?? [];
  const holdsAt: HoldsAt = function* (value) {
    const now = yield* patiently(() => factsAt(held, literal, value));
    const trace = yield* patiently(() => now && pictureTrace(now, held.picture));
    const happens = now && trace && edgeMoments(now.rig, trace).has(held.edge);
    const holds: (boolean | null)[] = [];
    for (const k of requirements.keys()) {
      yield;
      const same = happens ? now.rig.requirements[k] : undefined;
      holds.push(
        now && same && isTimed(same) ? (yield* patiently(() => evaluateRequirement(now, same))).state === 'met' : null,
      );
    }
    return holds;
  };
  const near = {
    low: Math.max(bounds.low, literal.value - STOPS_WITHIN),
    high: Math.min(bounds.high, literal.value + STOPS_WITHIN),
  };
  const stops = yield* stopsOf(holdsAt, literal.value, near);
  const now = yield* holdsAt(literal.value);
  return stops.flatMap(({ of, value }, k) => {
    if (stops.findIndex((s) => s.of === of && s.value === value) < k) return [];
    const t = momentWith(held, literal, value);
    if (t === null) return [];
    return [{ t, value, of, text: requirements[of]!.text, beyond: now[of] ? ('broken' as const) : ('met' as const) }];
  });
}
