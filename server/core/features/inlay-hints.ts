/**
 * Ends of lines: cumulative times of `drive` and `signal`, counted from the trigger's edge; value and slack of `require`. Needs the
 * analysed phase.
 */
import { triggerText } from '../timing/words';
import type { Expression, LetStatement, Span, Statement } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import { overriddenConstants } from '../document/overrides';
import type { RigFacts } from '../run/facts';
import { leavesAt } from '../timing/course';
import type { StrokeFacts } from '../timing/facts';
import { formatTime } from '../units/units';
import { valueText } from '../metrics/requirement-value';
import { firstStrokeWindows, itemsDeclaredAt, mainStroke, onTimes, rigAt } from './lookup';
import { escaped } from './markdown';
import { requirementsAt } from './requirement-at';
import { occurrencesByStart } from './symbol-at';
import { say } from '../words/say';
import { finish, type Work } from '../work/work';

export interface Hint {
  /** Offset right after the statement. */
  readonly at: number;
  readonly label: string;
  /** Markdown. */
  readonly explanation: string;
}

export interface HintOptions {
  readonly drives: boolean;
  readonly timers: boolean;
  readonly requirements: boolean;
}

/** Hints whose statements lie in `range`; at most three windows each, so that lines stay short. */
export const inlayHints = (...asked: Parameters<typeof inlayHintsWork>): Hint[] => finish(inlayHintsWork(...asked));

/** The same in steps of one statement. */
export function* inlayHintsWork(document: RigDocument, range: Span, options: HintOptions): Work<Hint[]> {
  const hints: Hint[] = [];
  for (const statement of statementsIn(document.parsed().tree.statements, range)) {
    const hint = statement.kind === 'let' ? overrideHint(document, statement) : hintFor(document, statement, options);
    if (hint) hints.push(hint);
    yield;
  }
  return hints;
}

function statementsIn(statements: readonly Statement[], range: Span): Statement[] {
  return statements
    .filter((s) => s.span.start <= range.end && s.span.end >= range.start)
    .flatMap((s) => (s.kind === 'rig' || s.kind === 'part' ? statementsIn(s.body, range) : [s]));
}

/** A constant that counts otherwise than written says so, whatever hints are wanted. */
function overrideHint(document: RigDocument, { name, span }: LetStatement): Hint | null {
  const found = overriddenConstants(document.resolved()).find((p) => p.at.start === name.span.start);
  if (!found || found.at.uri !== document.uri) return null;
  return { at: span.end, label: say`other value from outside`, explanation: escaped(found.message) };
}

function hintFor(document: RigDocument, statement: Statement, options: HintOptions): Hint | null {
  if (statement.kind === 'drive' && options.drives)
    return driveHint(document, statement.target.span, statement.span.end);
  if (statement.kind === 'signal' && options.timers && hasCall(statement.value)) {
    return signalHint(document, statement.name.span, statement.span.end);
  }
  if (statement.kind === 'require' && options.requirements) return requireHint(document, statement.span);
  return null;
}

/** Whether a timer, edge, latch or counter stands in an expression. */
function hasCall(term: Expression): boolean {
  if (term.kind === 'call') return true;
  if (term.kind === 'unary') return hasCall(term.operand);
  return term.kind === 'binary' && (hasCall(term.left) || hasCall(term.right));
}

function stroke(document: RigDocument, offset: number): { facts: RigFacts; stroke: StrokeFacts } | null {
  const rig = rigAt(document, offset);
  if (rig < 0) return null;
  const facts = document.factsOf(rig);
  const main = mainStroke(facts);
  return main ? { facts, stroke: main } : null;
}

function driveHint(document: RigDocument, target: Span, at: number): Hint | null {
  const found = stroke(document, target.start);
  const declaration = occurrencesByStart(document.resolved()).get(target.start)?.declaration;
  if (!found || !declaration) return null;
  const item = itemsDeclaredAt(document, declaration.at).find((i) => i.kind === 'door');
  if (!item) return null;
  const windows = firstStrokeWindows(found.stroke, item.index);
  const trigger = triggerText(found.stroke);
  if (windows.length === 0) return { at, label: say`never opens`, explanation: say`Not opened after \`${trigger}\`.` };
  const times = windows.map((w) => ({ from: leavesAt(w), to: w.notShut.to }));
  return { at, label: spans(times), explanation: say`Leaves shut and is shut again, counted from \`${trigger}\`.` };
}

function signalHint(document: RigDocument, name: Span, at: number): Hint | null {
  const found = stroke(document, name.start);
  if (!found) return null;
  const item = itemsDeclaredAt(document, { uri: document.uri, ...name }).find((i) => i.kind === 'signal');
  const signal = item && found.facts.rig.signals[item.index];
  if (!signal) return null;
  const times = onTimes(found.stroke, signal.net);
  const trigger = triggerText(found.stroke);
  if (times.length === 0) return { at, label: say`never on`, explanation: say`Stays off after \`${trigger}\`.` };
  return { at, label: spans(times), explanation: say`On from and to, counted from \`${trigger}\`.` };
}

/** In a part that is placed several times: the one with the least to spare, by name, and all of them on pointing at it. */
function requireHint(document: RigDocument, span: Span): Hint | null {
  const found = requirementsAt(document, span).filter((value) => valueText(value) !== '');
  const [first] = found;
  if (!first) return null;
  if (found.length === 1) return { at: span.end, label: valueText(first), explanation: escaped(first.verdict.message) };
  const label = say`least of ${found.length}: ${valueText(first)}`;
  const all = found.map((value) => `- ${escaped(value.requirement.text)}: ${escaped(valueText(value))}`);
  return { at: span.end, label, explanation: all.join('\n') };
}

function spans(times: readonly { readonly from: number | null; readonly to: number | null }[]): string {
  // Without a beginning: since before the trigger; without an end: permanently.
  const text = (t: number | null): string => (t === null ? '' : formatTime(t));
  const shown = times.slice(0, 3).map(({ from, to }) => {
    if (from === null || to === null) return `${text(from)} → ${text(to)}`.trim();
    return `${text(from)} – ${text(to)}`;
  });
  return times.length > 3 ? `${shown.join(', ')}, …` : shown.join(', ');
}
