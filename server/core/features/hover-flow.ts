/** What a chamber's hover and a rig's lens show about flow. Figures that are not reliable are left out or say so. */
import type { ChamberState, FlowFacts, KeepUp, StackStroke, StrokeFlow } from '../flow/facts';
import type { RigFacts } from '../run/facts';
import { keepUpVerdict, outcomeText } from '../run/keep-up-words';
import { formatSi, formatTime } from '../units/units';
import { isIncomplete } from './lookup';
import { code, paragraphs, table } from './markdown';
import { say } from '../words/say';

/** Markdown about the contents of a chamber and what strokes do to it; empty where flow is not computed. */
export function chamberFlowText(facts: RigFacts, chamber: number): string {
  if (isIncomplete(facts.rig)) return '';
  const { flow } = facts;
  const start = flow?.start[chamber];
  if (!flow?.medium || !start) return '';
  const stroke = flow.strokes[0];
  return paragraphs(
    table([say`contents`, ''], stateRows(start)),
    stroke ? gainText(stroke, chamber) : '',
    stroke ? ceilingText(facts, stroke, chamber) : '',
    stroke?.keepUp?.chamber === chamber ? keepUpText(facts, stroke.keepUp) : '',
    doubtsText(flow),
  );
}

function stateRows(state: ChamberState): string[][] {
  const rows = [
    [say`mass`, formatSi(state.mass, 'mass')],
    [say`density`, formatSi(state.density, 'density')],
  ];
  if (state.pressure !== null) rows.push([say`pressure`, formatSi(state.pressure, 'pressure')]);
  if (state.level !== null) rows.push([say`level`, formatSi(state.level, 'length')]);
  return rows;
}

function gainText(stroke: StrokeFlow, chamber: number): string {
  const gain = stroke.gains[chamber] ?? 0;
  if (gain === 0) return '';
  const mass = formatSi(Math.abs(gain), 'mass');
  if (gain > 0) return say`One stroke brings ${mass}, with the contents that trigger it.`;
  return say`One stroke takes ${mass}, with the contents that trigger it.`;
}

function ceilingText(facts: RigFacts, stroke: StrokeFlow, chamber: number): string {
  const stack = stroke.stacks.find((s: StackStroke) => s.to === chamber);
  if (!stack) return '';
  if (stack.ceilingNote !== '') return say`Ceiling: ${stack.ceilingNote}.`;
  const from = facts.rig.chambers[stack.from]?.name ?? '';
  return stack.ceiling ? say`Strokes from ${code(from)} move nothing more at ${shownState(stack.ceiling)}.` : '';
}

function shownState(state: ChamberState): string {
  if (state.level !== null) return formatSi(state.level, 'length');
  return state.pressure === null ? formatSi(state.density, 'density') : formatSi(state.pressure, 'pressure');
}

function ratesText({ feed, capacity, at }: KeepUp): string {
  const [fed, out] = [formatSi(feed, 'mass_flow'), formatSi(capacity, 'mass_flow')];
  switch (at) {
    case 'limit':
      return say`Fed ${fed}; strokes take ${out} out at its limit.`;
    case 'threshold':
      return say`Fed ${fed}; strokes take ${out} out at the trigger.`;
    case 'start':
      return say`Fed ${fed}; strokes take ${out} out while it holds what it does at the start.`;
  }
}

function keepUpText({ rig }: RigFacts, keepUp: KeepUp): string {
  const rates = ratesText(keepUp);
  const outcome = outcomeText(rig, keepUp);
  if (keepUp.keeps === null || !outcome) return rates;
  if (!keepUp.keeps)
    return `${rates} ${say`In the followed run ${outcome}: ${keepUpVerdict(rig, keepUp).toLowerCase()}.`}`;
  // Its own condition holds it: how far apart strokes may be says nothing about that.
  if (keepUp.heldBy.length > 0 && keepUp.capacity < keepUp.feed)
    return `${rates} ${say`In the followed run ${outcome}: ${keepUpVerdict(rig, keepUp)}.`}`;
  if (!Number.isFinite(keepUp.longestInterval)) return rates;
  return `${rates} ${say`They keep up, with strokes up to ${formatTime(Math.floor(keepUp.longestInterval * 1e6))} apart.`}`;
}

function doubtsText(flow: FlowFacts): string {
  return flow.doubts.map((doubt) => say`Not to be relied on: ${doubt}`).join('\n\n');
}

/** `moves 1.2 kg a stroke` for the first stack that moves something; empty where there is none. */
export function strokeMassText(facts: RigFacts): string {
  if (isIncomplete(facts.rig)) return '';
  const moved = facts.flow?.strokes[0]?.stacks.find((s) => s.atTrigger > 0);
  return moved ? say`moves ${formatSi(moved.atTrigger, 'mass')} a stroke` : '';
}
