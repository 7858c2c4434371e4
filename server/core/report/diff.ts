/**
 * What changed between two versions of a rig: times, verdicts, settings, parts, connections, findings; by name, renames recognised.
 * Everything compared was computed elsewhere; here it is only laid side by side.
 */
import { toleranceWork } from '../metrics/within-tolerance';
import { requirementName } from '../metrics/evaluate';
import { requirementValues, valueText } from '../metrics/requirement-value';
import type { Problem } from '../model/problem';
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { isSinceBefore, leavesAt } from '../timing/course';
import type { StrokeFacts } from '../timing/facts';
import type { Started } from '../timing/alike';
import { sinceTrigger } from '../timing/words';
import { formatSi, formatTime } from '../units/units';
import { type ComparedRow, joinedByTrigger } from './diff-joined';
import { settingOf } from './sheet/control-tables';
import { wiringOf, type Wiring } from './sheet/connections';
import { statedOf } from './stated';
import { finish, patiently, type Work } from '../work/work';
import type { VerdictState } from '../metrics/verdict';
import { say } from '../words/say';

export interface DiffSide {
  readonly facts: RigFacts;
  readonly problems: readonly Problem[];
}

export const DIFF_GROUPS = [
  'renamed',
  'times',
  'flow',
  'requirements',
  'settings',
  'parts',
  'connections',
  'findings',
] as const;
export type DiffGroup = (typeof DIFF_GROUPS)[number];

/** One difference; `old` or `now` is null where there is none. */
export interface DiffRow {
  readonly group: DiffGroup;
  readonly what: string;
  readonly old: string | null;
  readonly now: string | null;
  /** `+250 ms`; empty where a difference means nothing. */
  readonly change: string;
}

export interface RigDiff {
  readonly name: string;
  readonly rows: readonly DiffRow[];
}

/** Values by what they are of; times carry their number too, so that the change can be stated. */
interface Listed {
  readonly text: string;
  readonly time: number | null;
  /** Equal where nothing differs, for texts that are rounded; absent: the text. */
  readonly exact?: string;
  /** What it is of and after which trigger, where it is of a stroke. */
  readonly of?: { readonly what: string; readonly since: Started | null };
}
type Listing = ReadonlyMap<string, Listed>;

/** Everything that differs between two versions of one rig, group by group; only of some groups where they are named. */
export const diffRigs = (...asked: Parameters<typeof diffWork>): RigDiff => finish(diffWork(...asked));

/** The same in steps of one group on one side. */
export function* diffWork(old: DiffSide, now: DiffSide, groups: readonly DiffGroup[] = DIFF_GROUPS): Work<RigDiff> {
  const renames = renamesOf(old.facts.rig, now.facts.rig);
  const renamed = (name: string) => renames.get(name) ?? name;
  const renamedRows = groups.includes('renamed') ? [...renames] : [];
  const rows: ComparedRow[] = renamedRows.map(([from, to]) => ({
    group: 'renamed',
    what: from,
    old: from,
    now: to,
    change: '',
  }));
  for (const [group, list] of LISTED) {
    if (!groups.includes(group)) continue;
    // Worst cases are looked up by what lists them: here they are computed in steps.
    if (group === 'requirements') for (const { facts } of [old, now]) yield* toleranceWork(facts);
    yield;
    const before = yield* patiently(() => list(old, renamed));
    yield;
    const after = yield* patiently(() => list(now, (name) => name));
    rows.push(...compare(group, before, after));
  }
  return { name: now.facts.rig.name, rows: joinedByTrigger(rows) };
}

/** What is listed of each side, in the order of the groups. */
const LISTED: readonly (readonly [DiffGroup, (side: DiffSide, rename: (name: string) => string) => Listing])[] = [
  ['times', times],
  ['flow', flow],
  ['requirements', requirements],
  ['settings', settings],
  ['parts', parts],
  ['connections', connections],
  ['findings', findings],
];

function compare(group: DiffGroup, old: Listing, now: Listing): ComparedRow[] {
  const rows: ComparedRow[] = [];
  for (const [what, before] of old) {
    const after = now.get(what);
    if (after && (after.exact ?? after.text) === (before.exact ?? before.text)) continue;
    const moved = after && after.time !== null && before.time !== null ? after.time - before.time : 0;
    const change = moved === 0 ? '' : signed(moved);
    const rounded = after?.text === before.text;
    const text = (side: Listed) => (rounded ? say`${side.text} (in SI units ${side.exact ?? ''})` : side.text);
    rows.push({ group, what, ...before.of, old: text(before), now: after ? text(after) : null, change });
  }
  for (const [what, after] of now)
    if (!old.has(what)) rows.push({ group, what, ...after.of, old: null, now: after.text, change: '' });
  return rows;
}

const signed = (us: number) => `${us < 0 ? '−' : '+'}${formatTime(Math.abs(us))}`;

// ---------------------------------------------------------------- what is listed

function times({ facts }: DiffSide, rename: (name: string) => string): Listing {
  const found = new Map<string, Listed>();
  for (const stroke of facts.timing.strokes) {
    const { trigger } = stroke;
    const since = { becomes: stroke.becomes, trigger: { ...trigger, name: rename(trigger.name) } };
    const put = (what: string, time: number | null | undefined) => {
      if (time === null || time === undefined) return;
      found.set(`${what} ${sinceTrigger(since)}`, { text: formatTime(time), time, of: { what, since } });
    };
    doorTimes(facts.rig, stroke, rename, put);
    put(say`repeat`, stroke.repeat);
    put(say`stroke ends`, stroke.strokeEnds);
  }
  return found;
}

function doorTimes(
  rig: Rig,
  stroke: StrokeFacts,
  rename: (name: string) => string,
  put: (what: string, t: number | null | undefined) => void,
): void {
  for (const { door, windows } of stroke.doors) {
    const name = rename(rig.doors[door]!.name);
    windows.forEach((w, k) => {
      // The first keeps its name where more come: what has not changed is not a difference.
      const which = k > 0 ? say` (opening ${k + 1})` : '';
      put(say`${name} leaves its seat${which}`, leavesAt(w));
      put(say`${name} is fully open${which}`, w.fullyOpen && !isSinceBefore(w, w.fullyOpen) ? w.fullyOpen.from : null);
      put(say`${name} starts to close${which}`, w.fullyOpen?.to);
      put(say`${name} is shut${which}`, w.notShut.to);
    });
  }
  for (const { doors, overlap, leastOverlap, gap } of stroke.pairs) {
    const [a, b] = [rename(rig.doors[doors[0]]!.name), rename(rig.doors[doors[1]]!.name)];
    put(say`overlap of ${a} and ${b}`, leastOverlap);
    if (overlap !== leastOverlap) put(say`longest overlap of ${a} and ${b}`, overlap);
    put(say`gap of ${a} and ${b}`, gap);
  }
}

/** What a stroke moves. */
function flow({ facts }: DiffSide, rename: (name: string) => string): Listing {
  const found = new Map<string, Listed>();
  facts.flow?.strokes.forEach((stroke, s) => {
    const started = facts.timing.strokes[stroke.stroke]!;
    const { trigger, becomes } = started;
    // The first goes without: of most rigs it is the only one.
    const since = s === 0 ? null : { becomes, trigger: { ...trigger, name: rename(trigger.name) } };
    for (const { stack, atTrigger } of stroke.stacks) {
      const last = facts.rig.stacks[stack]?.members.at(-1);
      const into = last?.kind === 'chamber' ? facts.rig.chambers[last.index]?.name : undefined;
      if (into === undefined) continue;
      const what = say`mass a stroke into ${rename(into)}`;
      found.set(`${what} ${since === null ? '' : sinceTrigger(since)}`, {
        text: formatSi(atTrigger, 'mass'),
        time: null,
        of: { what, since },
      });
    }
  });
  return found;
}

/** The words of a requirement with the names that changed. */
function renamedText(text: string, rename: (name: string) => string): string {
  return text.replace(/[\p{L}_][\p{L}\p{N}_.]*/gu, rename);
}

function requirements({ facts }: DiffSide, rename: (name: string) => string): Listing {
  const found = new Map<string, Listed>();
  for (const value of requirementValues(facts)) {
    const state = verdictWord(value.verdict.state);
    const words = valueText(value);
    const text = words === '' ? state : `${state}: ${words}`;
    found.set(renamedText(requirementName(value.requirement), rename), { text, time: null });
  }
  stated('requirements', facts.rig, rename, found);
  return found;
}

function settings({ facts }: DiffSide, rename: (name: string) => string): Listing {
  const found = new Map<string, Listed>();
  for (const unit of wiringOf(facts.rig).units) {
    if (unit.preset === null && unit.count === null) continue;
    found.set(`${renamedUnit(unit.name, rename)} (${unit.kind})`, {
      text: settingOf(unit),
      time: unit.preset?.nominal ?? null,
    });
  }
  stated('settings', facts.rig, rename, found);
  return found;
}

/** Names such as `signal/TON IN` begin with the name that may have changed. */
function renamedUnit(name: string, rename: (name: string) => string): string {
  const [, stem, rest] = /^([^/ ]+)(.*)$/s.exec(name)!;
  return rename(stem!) + rest;
}

function parts({ facts }: DiffSide, rename: (name: string) => string): Listing {
  const found = new Map<string, Listed>();
  stated('parts', facts.rig, rename, found);
  return found;
}

/** Of properties whose values hold names of other items. */
const isNaming = (property: string): boolean =>
  [say`members`, say`chamber`, say`vents`, say`steps`, say`prefer`, say`starts on`].includes(property);

function verdictWord(state: VerdictState): string {
  if (state === 'met') return say`met`;
  if (state === 'failed') return say`failed`;
  if (state === 'undecided') return say`undecided`;
  return state === 'invalid' ? say`not read` : say`not computed`;
}

/** Puts what the rig states of a group into a listing. */
function stated(group: DiffGroup, rig: Rig, rename: (name: string) => string, found: Map<string, Listed>): void {
  for (const { group: of, item, named, property, text, exact, time } of statedOf(rig)) {
    if (of !== group) continue;
    const words = (value: string) => (isNaming(property) ? renamedText(value, rename) : value);
    const what = `${named ? rename(item) : item}: ${property}`;
    found.set(what, { text: words(text), exact: words(exact), time });
  }
}

function connections({ facts }: DiffSide, rename: (name: string) => string): Listing {
  const { wires, units }: Wiring = wiringOf(facts.rig);
  const end = (t: { unit: string; pin: string }) => `${renamedUnit(t.unit, rename)} : ${t.pin}`;
  const found = new Map<string, { text: string; time: null }>();
  for (const unit of units)
    if (unit.formula !== '')
      found.set(say`function of ${renamedUnit(unit.name, rename)}`, { text: unit.formula, time: null });
  for (const wire of wires) found.set(say`to ${end(wire.to)}`, { text: say`from ${end(wire.from)}`, time: null });
  return found;
}

function findings({ problems }: DiffSide): Listing {
  const found = new Map<string, { text: string; time: null }>();
  for (const problem of problems) {
    const same = [...found.keys()].filter((key) => key.startsWith(`${problem.code} `)).length;
    found.set(`${problem.code} ${same + 1}`, {
      text: `${problem.severity === 'error' ? say`error` : problem.severity === 'warning' ? say`warning` : say`information`}: ${problem.message}`,
      time: null,
    });
  }
  return found;
}

// ---------------------------------------------------------------- renames

/**
 * Names of the old version that another name took over: of two items of one kind, one gone and one new, standing at the same place among
 * those of their kind and with the same properties. Old name → new name.
 */
function renamesOf(old: Rig, now: Rig): Map<string, string> {
  const renames = new Map<string, string>();
  const match = <T extends { readonly name: string }>(
    a: readonly T[],
    b: readonly T[],
    likeness: (item: T, rig: Rig) => string,
  ) => {
    const names = new Set(b.map((item) => item.name));
    const before = new Set(a.map((item) => item.name));
    a.forEach((item, index) => {
      const other = b[index];
      if (names.has(item.name) || !other || before.has(other.name) || a.length !== b.length) return;
      if (likeness(item, old) === likeness(other, now)) renames.set(item.name, other.name);
    });
  };
  const nominal = (q: { readonly nominal: number } | null | undefined) => q?.nominal ?? '-';
  match(old.chambers, now.chambers, (c) => `${nominal(c.volume)}`);
  match(old.doors, now.doors, (d) => `${nominal(d.pocket)} ${nominal(d.opensIn)} ${nominal(d.closesIn)} ${d.rest}`);
  match(old.lines, now.lines, (l) => `${l.kind} ${nominal(l.rate?.value)}`);
  match(old.switches, now.switches, (s) => `${s.initial}`);
  match(old.sensors, now.sensors, (s) => `${s.on?.sensed} ${s.on?.side} ${nominal(s.on?.value)}`);
  match(old.signals, now.signals, (s, rig) => s.elements.map((e) => shape(rig, e)).join());
  return renames;
}

/** Kind and times of an element: what a signal keeps when it gets another name. */
function shape(rig: Rig, element: number): string {
  const { kind, preset, count } = rig.network.elements[element]!;
  return `${kind} ${preset?.nominal ?? ''} ${count ?? ''}`;
}
