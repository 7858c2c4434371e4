/** Repairs that turn one time of the text, or two: tried on the rig first, offered only where they reach their goal. */
import { listText } from '../../timing/words';
import type { Fix, NoFix, Repair, TextEdit } from '../../model/problem';
import { timeEdits } from '../../choose/edit';
import { opensAsBefore } from '../../choose/part';
import type { TimeLiteral } from '../../choose/literals';
import { sameSource } from '../../choose/literals';
import type { Change, Goal, Turn } from '../../choose/search';
import { tryChangeWork, tryPairsWork } from '../../choose/search';
import type { Work } from '../../work/work';
import type { RigFacts } from '../../run/facts';
import { formatTime } from '../../units/units';
import type { CheckContext } from '../check';
import { pathsOpen } from '../straight';
import { say } from '../../words/say';

/** A time and the value that arithmetic says it needs. */
export interface Candidate {
  readonly literal: TimeLiteral;
  readonly value: number;
}

/** The most candidates that are tried for one problem, and the most fixes that are offered. */
const MOST = { tried: 6, offered: 2 } as const;
/** A time is not stretched beyond this share of itself, nor shrunk below its inverse: that would be another rig. */
const FURTHEST = 3;

/**
 * Fixes for those candidates that reach the goal, keep every door opening fully that does so now, and open no path straight
 * through; where none does, for two of them that share the way. Those that bring no other finding come first; where all do, the first
 * says which. `purpose` ends the title: "so that upper and lower are apart". `before` computes what the goal reads that takes long.
 * Where there is no fix, why.
 */
export function* presetFixes(
  context: CheckContext,
  candidates: readonly Candidate[],
  goal: Goal,
  purpose: string,
  before?: (facts: RigFacts) => Work<unknown>,
): Work<Repair[]> {
  if (!context.recheck) return [];
  if (candidates.length === 0) return [nothingDecides()];
  if (mayNotTry(context, candidates.length)) return [triedEnough()];
  const stillOpens = opensAsBefore(context.facts);
  const paths = pathsOpen(context.facts).length;
  const safe: Goal = (facts) => goal(facts) && stillOpens(facts) && pathsOpen(facts).length <= paths;
  const changes: Change[] = [];
  for (const { literal, value } of sensible(candidates)) {
    const change = yield* tryChangeWork(context.rig, literal, value, safe, before);
    if (change) changes.push(change);
  }
  const single = yield* changeFixes(context, changes, purpose);
  if (single.some(isClean)) return single;
  const pairs = pairsOf(sensible(candidates.map(halfWay)));
  if (pairs.length > 0 && !mayNotTry(context, pairs.length)) {
    const change = yield* tryPairsWork(context.rig, pairs, safe, before);
    const both = change ? yield* changeFixes(context, [change], purpose) : [];
    if (both.some(isClean)) return both;
  }
  if (single.length > 0) return single;
  return [noneOf(candidates, pairs.length > 0)];
}

const isClean = (repair: Repair): boolean => 'edits' in repair && repair.costs !== true;

const nothingDecides = (): NoFix => ({ because: say`no time of the text that could be turned decides it` });
export const triedEnough = (): NoFix => ({
  because: say`the limit on changes that are tried while one types was reached; caisson tune tries more`,
});

/** Half the change: what two times that share the way turn each. */
function halfWay({ literal, value }: Candidate): Candidate {
  return { literal, value: (literal.value + value) / 2 };
}

function pairsOf(turns: readonly Candidate[]): (readonly [Candidate, Candidate])[] {
  return turns.flatMap((a, i) => turns.slice(i + 1).map((b) => [a, b] as const));
}

function noneOf(candidates: readonly Candidate[], pairs: boolean): NoFix {
  const namesOf = (some: readonly Candidate[]): string[] =>
    [...new Set(some.map((c) => c.literal.name))].slice(0, MOST.tried);
  const near = namesOf(candidates.filter(isNear));
  const all = namesOf(candidates);
  const far = all.filter((name) => !near.includes(name));
  const tooFar = say`${listText(far, 'or')} would have to be over three times as long, or under a third`;
  if (near.length === 0 && !pairs) return { because: tooFar };
  if (near.length === 0)
    return {
      because: say`turning two of ${listText(all, 'and')} together does not cure it without breaking something else; alone, ${tooFar}`,
    };
  const which = listText(pairs ? all : near, 'or');
  const tried = pairs
    ? say`turning ${which}, alone or two together, does not cure it without breaking something else`
    : say`turning ${which} does not cure it without breaking something else`;
  return { because: far.length === 0 ? tried : say`${tried}; alone, ${tooFar}` };
}

/** Takes this number of tries off what is left; true where they are used up. */
export function mayNotTry({ tries }: CheckContext, count: number): boolean {
  if (!tries) return false;
  if (tries.left <= 0) return true;
  tries.left -= Math.min(count, MOST.tried);
  return false;
}

/** Fixes for changes that were tried: the clean ones, or else the first with its price. */
export function* changeFixes(context: CheckContext, changes: readonly Change[], purpose: string): Work<Repair[]> {
  const { recheck } = context;
  const before = changes.length > 0 && recheck ? yield* recheck(context.facts) : [];
  const rated: { readonly change: Change; readonly price: readonly string[] }[] = [];
  for (const change of changes) {
    rated.push({ change, price: added(before, recheck ? yield* recheck(change.facts) : []) });
  }
  const clean = rated.filter((r) => r.price.length === 0).slice(0, MOST.offered);
  return (clean.length > 0 ? clean : rated.slice(0, 1)).flatMap(({ change, price }) =>
    changeFix(context, change, purpose, price),
  );
}

/** How many times as long a time becomes, or as short. */
const stretch = ({ literal, value }: Candidate): number =>
  value > literal.value ? value / literal.value : literal.value / value;

const isNear = (candidate: Candidate): boolean => candidate.value > 0 && stretch(candidate) <= FURTHEST;

/** Different places only, none stretched too far, the smallest changes first. */
function sensible(candidates: readonly Candidate[]): Candidate[] {
  return candidates
    .filter((c, i) => candidates.findIndex((d) => sameSource(c.literal.at, d.literal.at) && c.value === d.value) === i)
    .filter(isNear)
    .sort((a, b) => stretch(a) - stretch(b))
    .slice(0, MOST.tried);
}

/** Codes of findings about subjects of which nothing of the kind was found before, each once. */
function added(before: readonly string[], after: readonly string[]): string[] {
  const known = new Set(before);
  return [...new Set(after.filter((finding) => !known.has(finding)).map((finding) => finding.split(' ')[0]!))];
}

function changeFix(context: CheckContext, change: Change, purpose: string, price: readonly string[]): Fix[] {
  const turns: readonly Turn[] = change.also ? [change, change.also] : [change];
  const edits: TextEdit[] = [];
  for (const { literal, value } of turns) {
    const own = timeEdits(context.resolution, context.text, literal, value);
    if (!own) return [];
    edits.push(...own);
  }
  const brings = price.length === 0 ? '' : say` (brings ${listText(price)})`;
  const title = `${turnsText(change, change.also)}, ${purpose}${brings}`;
  return [{ title, edits, ...(price.length > 0 ? { costs: true } : {}) }];
}

function turnsText({ literal, value }: Turn, also: Turn | undefined): string {
  const [name, from, to] = [literal.name, formatTime(literal.value), formatTime(value)];
  const first =
    value < literal.value ? say`Shorten ${name} from ${from} to ${to}` : say`Lengthen ${name} from ${from} to ${to}`;
  return also ? say`${first} and ${secondText(also)}` : first;
}

function secondText({ literal, value }: Turn): string {
  const [name, from, to] = [literal.name, formatTime(literal.value), formatTime(value)];
  return value < literal.value
    ? say`shorten ${name} from ${from} to ${to}`
    : say`lengthen ${name} from ${from} to ${to}`;
}
