/** An order of doors for a rig that has none yet, written into its text and verified: nothing is found, and strokes move something. */
import {
  freeName,
  sequenceText,
  suggestSequence,
  type SuggestedStage,
  type SuggestOptions,
} from '../choose/suggest-sequence';
import type { TextEdit } from '../model/problem';
import type { Rig } from '../model/rig';
import { atMost, patiently, type Work } from '../work/work';
import { formatCount } from '../units/units';
import { createDocument, type RigDocument } from './document';

export type SuggestedSequence =
  | {
      readonly ok: true;
      readonly statements: readonly string[];
      readonly edit: TextEdit;
      /** Errors and warnings that it brings, and what it does not move. */
      readonly findings: readonly string[];
      /** kg that a stroke of each sequence brings into the chamber below it; null where that is not known. */
      readonly moved: readonly { readonly chamber: string; readonly mass: number | null }[];
      /** Why not every order was tried, in one sentence; null where every one was. */
      readonly ended: string | null;
    }
  /** One sentence. */
  | { readonly ok: false; readonly message: string };

/** How long doors stay open before the next step, µs: the shortest that fills and empties the pockets is found by trying. */
const DWELLS = [200_000, 500_000, 1_000_000, 2_000_000, 4_000_000, 8_000_000];

/** Steps of work that the search of an order may take: many times what a rig of everyday size does. */
const MOST_STEPS = 40_000;

/** In steps, at most `most` of them. @param index into the document's rigs */
export function* suggestWiring(document: RigDocument, index: number, most = MOST_STEPS): Work<SuggestedSequence> {
  const rig = document.resolved().rigs[index]!;
  const refusal = refusalOf(rig, document);
  if (refusal !== null) return { ok: false, message: refusal };
  const search: Search = { best: null, tried: 0 };
  const isWhole = yield* atMost(searchWork(document, rig, index, search), most);
  if (!search.best)
    return {
      ok: false,
      message: `${rig.name} is too large: trying one order of its doors is more than a search may take. Leave out what the order does not depend on (other stacks, feeds, sensors) and put the sequence into the whole rig.`,
    };
  const { statements, edit, findings, moved } = search.best;
  const ended = `Not every order was tried: ${formatCount(search.tried, 'order')} looked at, as each has to be followed. Without other stacks, feeds and sensors the search gets further.`;
  return { ok: true, statements, edit, findings, moved, ended: isWhole ? null : ended };
}

interface Search {
  best: Tried | null;
  tried: number;
}

/** True once all orders are tried. */
function* searchWork(document: RigDocument, rig: Rig, index: number, search: Search): Work<true> {
  for (const dwell of DWELLS)
    for (const pairwise of rig.medium?.phase === 'gas' ? [true, false] : [false]) {
      const tried = yield* tryOrder(document, rig, index, { dwell, pairwise });
      search.tried++;
      if (search.best === null || better(tried, search.best)) search.best = tried;
    }
  return true;
}

function refusalOf(rig: Rig, document: RigDocument): string | null {
  if (rig.whole.uri !== document.uri) return `${rig.name} stands in another file; ask there.`;
  const driven = new Set(rig.drives.filter((d) => d.kind === 'door').map((d) => d.target));
  rig.sequences.forEach((s) => s.steps.forEach((step) => step.doors.forEach((d) => driven.add(d))));
  if (driven.size > 0)
    return `${rig.doors[[...driven][0]!]!.name} is driven already; a sequence is suggested for a rig without any.`;
  if (suggestSequence(rig, { dwell: DWELLS[0]!, pairwise: false }).length === 0)
    return `${rig.name} has no stack with doors to order.`;
  return null;
}

interface Tried {
  readonly statements: readonly string[];
  readonly edit: TextEdit;
  readonly findings: readonly string[];
  readonly moved: readonly { readonly chamber: string; readonly mass: number | null }[];
  /** kg/s of all sequences together. */
  readonly rate: number;
}

/** Fewer findings, then more moved in the same time. */
function better(a: Tried, b: Tried): boolean {
  if (a.findings.length !== b.findings.length) return a.findings.length < b.findings.length;
  return a.rate > b.rate * (1 + 1e-6);
}

function* tryOrder(document: RigDocument, rig: Rig, index: number, options: SuggestOptions): Work<Tried> {
  const stages = suggestSequence(rig, options);
  const { triggers, extra } = triggersOf(rig, stages);
  const statements = [...extra, ...sequenceText(rig, stages, triggers)];
  const start = rig.whole.end - 1;
  // The brace may stand behind the last statement.
  const lead = /[^\s][^\n]*$/.test(document.text.slice(0, start)) ? '\n' : '';
  const text = lead + statements.map((s) => `  ${s}\n`).join('');
  const after = document.text.slice(0, start) + text + document.text.slice(start);
  const changed = createDocument({ uri: document.uri, version: 0, text: after }, document.readText);
  const known = new Set(document.problems().map((p) => `${p.code}: ${p.message}`));
  for (const work = changed.work(); !work.next().done;) yield;
  const findings = changed
    .problems()
    .filter((p) => p.severity === 'error' || p.severity === 'warning')
    .map((p) => `${p.code}: ${p.message}`)
    .filter((f) => !known.has(f));
  const facts = changed.factsOf(index);
  const strokes = yield* patiently(() => facts.flow?.strokes ?? []);
  const stacks = strokes.flatMap((s) => s.stacks.map((k) => ({ ...s, to: k.to, moved: k.atTrigger })));
  const ends = [...new Set(rig.stacks.map((s) => s.members[s.members.length - 1]!.index))];
  const moved = ends.map((to) => ({
    chamber: rig.chambers[to]?.name ?? '?',
    mass: stacks.length === 0 ? null : Math.max(...stacks.filter((k) => k.to === to).map((k) => k.moved)),
  }));
  for (const { chamber, mass } of moved)
    if (mass !== null && !(mass > 0)) findings.push(`a stroke brings nothing to ${chamber}`);
  const rate = stacks.reduce((sum, k) => sum + (k.interval === null ? 0 : Math.max(0, k.moved) / k.interval), 0);
  return { statements, edit: { at: { uri: document.uri, start, end: start }, text }, findings, moved, rate };
}

/**
 * What starts each stage: the switch that is on, or the only one; the sensor on the chamber above that goes on as it fills, and not the one on the chamber below
 * that goes on as that fills; a switch of its own where there is none.
 */
function triggersOf(rig: Rig, stages: readonly SuggestedStage[]): { triggers: string[]; extra: string[] } {
  const isPlain = ({ name }: { readonly name: string }): boolean => !name.includes('.');
  const sensorOn = (chamber: number): string[] =>
    rig.sensors.filter((s) => s.chamber === chamber && s.on?.side === 'above' && isPlain(s)).map((s) => s.name);
  const extra: string[] = [];
  const triggers = stages.map(({ from, to }, k) => {
    const above = sensorOn(from).slice(0, 1);
    const plain = rig.switches.filter(isPlain);
    const there = plain.find((s) => s.initial) ?? (plain.length === 1 ? plain[0] : undefined);
    const starts = [...(there ? [there.name] : []), ...above];
    const own = freeName(rig, 'run');
    if (starts.length === 0) starts.push(own);
    if (starts.includes(own) && !extra.includes(`switch ${own} = on`)) extra.push(`switch ${own} = on`);
    const terms = [...starts, ...sensorOn(to).map((name) => `not ${name}`)];
    if (terms.length === 1) return terms[0]!;
    const signal = `${freeName(rig, 'start')}${stages.length === 1 ? '' : `_${k + 1}`}`;
    extra.push(`signal ${signal} = ${terms.join(' and ')}`);
    return signal;
  });
  return { triggers, extra };
}
