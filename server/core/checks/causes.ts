/**
 * Which findings explain which others. A rig with one fault may be reported at six places: a path straight through lets gas past, so that a
 * limit is passed and strokes stall. What may follow from another finding names it, and stands below it in every list (see `causesFirst`).
 * A pair of codes alone is not enough: both findings must be about a door in common (`about.ts`).
 */
import type { Problem, RelatedPlace } from '../model/problem';
import type { Rig } from '../model/rig';
import { doorsConcerned, WHOLE_RIG } from './about';
import type { Found } from './check';
import { say } from '../words/say';

/** Codes whose findings leave nothing else to be believed. */
const EVERYTHING = ['wire/loop-never-settles', 'cycle/not-worked-out'];
/** What keeps a door from being driven as meant. */
const UNDRIVEN = ['wire/undriven-door', 'timer/never-fires'];
const TIMERS = ['timer/thin-margin', 'timer/retriggered', 'timer/never-ends'];
const NO_STROKE = ['cycle/never-starts', 'door/never-opens'];
/** What is wrong with the doors of a stroke. */
const STROKE = ['door/straight-through', 'door/trapped-pocket', 'door/too-short', 'door/left-open', 'cycle/overrun'];

/** What keeps a store from filling. */
const NO_FILLING = ['flow/stalls', 'flow/cannot-keep-up'];

/** A door that two statements drive may do anything that is found about its movements, and what passes it with them. */
const OF_MOVEMENTS = /^(door|cycle|flow)\/|^require\/(failed|undecided)$/;
const DRIVEN_TWICE = 'wire/two-drivers';

/** Code → codes of findings that may explain it, the most likely first. */
const EXPLAINED_BY: ReadonlyMap<string, readonly string[]> = new Map([
  ['door/never-opens', [...UNDRIVEN, 'cycle/never-starts']],
  ['door/too-short', ['timer/retriggered']],
  ['door/left-open', ['timer/never-ends', 'sensor/inverted']],
  ['door/at-power-on', ['sensor/inverted']],
  ['door/straight-through', ['cycle/overrun', 'door/left-open', ...TIMERS]],
  ['door/overlap', ['cycle/overrun']],
  ['door/trapped-pocket', ['door/never-opens', 'cycle/overrun', 'door/too-short']],
  ['cycle/overrun', ['timer/retriggered', 'timer/never-ends']],
  ['cycle/never-starts', ['timer/never-fires']],
  ['cycle/never-ends', ['timer/never-ends', 'sensor/inverted']],
  ['flow/over-limit', [...STROKE, ...NO_FILLING, ...NO_STROKE]],
  ['flow/overflow', [...STROKE, ...NO_FILLING, ...NO_STROKE]],
  ['flow/cannot-keep-up', [...STROKE, 'flow/stalls', 'flow/short-fill']],
  ['flow/stalls', ['door/straight-through', 'door/trapped-pocket', 'door/too-short', ...NO_STROKE]],
  ['flow/short-fill', ['door/straight-through', 'door/too-short', 'timer/thin-margin']],
  ['flow/squeezed', ['door/trapped-pocket', 'door/too-short']],
  ['flow/reverse', ['door/straight-through', 'door/overlap']],
  ['require/failed', [...NO_STROKE, 'door/straight-through', 'door/too-short', 'cycle/overrun']],
  ['require/undecided', NO_STROKE],
]);

/** Causes that one finding names at most. */
const MOST = 2;

/** What changes how much passes, and no moment of any door. */
const PASSING: ReadonlySet<string> = new Set(['door/straight-through', 'door/trapped-pocket']);

function explainersOf({ code, about }: Found): readonly string[] {
  if (EVERYTHING.includes(code)) return [];
  const listed = EXPLAINED_BY.get(code) ?? [];
  const known = OF_MOVEMENTS.test(code) ? [DRIVEN_TWICE, ...listed] : listed;
  return [...EVERYTHING, ...(about?.isTime ? known.filter((cause) => !PASSING.has(cause)) : known)];
}

/** Whether a finding is known not to follow from another: it is found without it too. */
export type FoundAnyhow = (finding: Found, cause: Found) => boolean;

/** The findings of one rig as problems, each naming what it may follow from. */
export function withCauses(rig: Rig, findings: readonly Found[], foundAnyhow: FoundAnyhow): Problem[] {
  const doors = doorsAbout(rig);
  return findings.map((finding) => {
    const byCode = explainersOf(finding)
      .flatMap((code) => findings.filter((f) => f.code === code))
      .filter((cause) => EVERYTHING.includes(cause.code) || shareDoor(doors(cause), doors(finding)))
      .filter((cause) => !foundAnyhow(finding, cause));
    const causes = [...new Set([...waitedFor(finding, findings), ...byCode])].slice(0, MOST);
    const { about: _about, repair: _repair, ...problem } = finding;
    if (causes.length === 0) return problem;
    return { ...problem, related: [...causes.map(placeOf), ...(problem.related ?? [])] };
  });
}

/** Findings about what would have to change before this one can. */
function waitedFor({ about }: Found, findings: readonly Found[]): Found[] {
  const nets = about?.waitsFor ?? [];
  return findings.filter((f) => nets.length > 0 && f.about?.nets?.some((net) => nets.includes(net)));
}

const placeOf = ({ code, at }: Problem): RelatedPlace => ({
  at,
  cause: code,
  message: say`It may follow from ${code} here.`,
});

/**
 * Problems in their order, but each below those that it names as its causes. Causes that are not in the list (turned off, in another file) count
 * for nothing.
 */
export function causesFirst(problems: readonly Problem[]): Problem[] {
  const ordered = new Set<Problem>();
  const entered = new Set<Problem>();
  const place = (problem: Problem): void => {
    if (entered.has(problem)) return;
    entered.add(problem);
    for (const { cause, at } of problem.related ?? []) {
      if (cause === undefined) continue;
      for (const p of problems) if (p.code === cause && p.at.uri === at.uri && p.at.start === at.start) place(p);
    }
    ordered.add(problem);
  };
  problems.forEach(place);
  return [...ordered];
}

const shareDoor = (a: ReadonlySet<number>, b: ReadonlySet<number>): boolean => [...a].some((door) => b.has(door));

/** `doorsConcerned` of a finding, computed where it is first asked for. */
function doorsAbout(rig: Rig): (finding: Found) => ReadonlySet<number> {
  const known = new Map<Found, ReadonlySet<number>>();
  return (finding) => {
    let doors = known.get(finding);
    if (!doors) known.set(finding, (doors = doorsConcerned(rig, finding.about ?? WHOLE_RIG)));
    return doors;
  };
}
