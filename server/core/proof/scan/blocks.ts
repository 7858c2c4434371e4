/**
 * What one scan does to the elements of a scanned rig (IEC 61131-3; see the event engine for the words).
 *
 * In scan style all that a timer can notice is how many scans have passed, so its clock is a count of scans and no zone is needed. With a
 * preset or scan time within tolerance a count may be enough or not: then the draft splits in two (`outcomes`), both of which are followed.
 * Invariant: `counts[e]` is −1 for a timer that does not run, else the scans since the one that started it; what may never be seen again
 * (counts past PV, timers that are done) is not kept, so that states stay finitely many.
 */
import type { ProofElement, Range } from '../network';
import { copyDraft, elapsed, isTimer, type ScanDraft, type ScanModel } from './state';

/** Evaluates one element; several outcomes where a preset or the scan time has a tolerance. Changes the draft. */
export function scanElement(model: ScanModel, draft: ScanDraft, element: ProofElement, e: number): ScanDraft[] {
  return isTimer(element) ? timerStep(model, draft, element, e) : [plainStep(draft, element, e)];
}

function give(draft: ScanDraft, element: ProofElement, e: number, value: boolean): ScanDraft {
  draft.outputs[e] = value ? 1 : 0;
  draft.nets[element.net] = value ? 1 : 0;
  return draft;
}

function plainStep(draft: ScanDraft, element: ProofElement, e: number): ScanDraft {
  const x = element.reads[0]!(draft.nets);
  const was = draft.seen[e] === 1;
  const q = draft.outputs[e] === 1;
  const second = (): boolean => element.reads[1]!(draft.nets);
  draft.seen[e] = x ? 1 : 0;
  switch (element.kind) {
    case 'SR':
      return give(draft, element, e, x || (!second() && q));
    case 'RS':
      return give(draft, element, e, !second() && (x || q));
    case 'R_TRIG':
      return give(draft, element, e, x && !was);
    case 'F_TRIG':
      return give(draft, element, e, !x && was);
    case 'CTU':
      if (second()) draft.counts[e] = 0;
      else if (x && !was) draft.counts[e] = Math.min(draft.counts[e]! + 1, element.count);
      return give(draft, element, e, draft.counts[e]! >= element.count);
    default:
      return give(draft, element, e, x);
  }
}

/** One scan of a timer: several outcomes where its preset or the scan time has a tolerance. */
function timerStep(model: ScanModel, draft: ScanDraft, element: ProofElement, e: number): ScanDraft[] {
  const x = element.reads[0]!(draft.nets);
  const was = draft.seen[e] === 1;
  draft.seen[e] = x ? 1 : 0;
  // TON times while on, TOF while off; TP times from its rise, whatever its input does then.
  const times = element.kind === 'TON' ? x : !x;
  if (element.kind !== 'TP' && !times) {
    draft.counts[e] = -1;
    return [give(draft, element, e, element.kind === 'TOF')];
  }
  // For delays a change of input towards the timed state is the start; for TP a rise while no pulse runs.
  const starts = element.kind === 'TP' ? x && !was && draft.counts[e] === -1 : was !== x;
  if (starts && !(element.kind === 'TP' && element.preset.hi === 0)) draft.counts[e] = 0;
  else if (draft.counts[e]! >= 0) draft.counts[e] = draft.counts[e]! + 1;
  // What the output is once the time is over: TON on, TOF and TP off; until then the opposite.
  const done = element.kind === 'TON';
  if (draft.counts[e] === -1) return [give(draft, element, e, element.kind === 'TP' ? false : draft.outputs[e] === 1)];
  return outcomes(draft, elapsed(model, draft.counts[e]!), element.preset, (next, over) => {
    if (over) next.counts[e] = -1;
    give(next, element, e, over ? done : !done);
  });
}

/** Applies `set` to the draft for each answer to "has it lasted `due`?" that the ranges allow. */
export function outcomes(
  draft: ScanDraft,
  time: Range,
  due: Range,
  set: (next: ScanDraft, over: boolean) => void,
): ScanDraft[] {
  // Ranges [time.lo, time.hi] and [due.lo, due.hi]: over for some choice, over for every choice. Two outcomes only between the two.
  const may = time.hi >= due.lo;
  const must = time.lo >= due.hi;
  const drafts = may && !must ? [copyDraft(draft), draft] : [draft];
  drafts.forEach((next, k) => set(next, may && (must || k === 0)));
  return drafts;
}
