/** A suggestion of the tuner as readable text and as plain data. */
import { spareText, valueText, type RequirementValue } from '../metrics/requirement-value';
import type { ToleranceState } from '../metrics/within-tolerance';
import type { ProofState, TuneAnswer } from '../choose/tune/answer';
import type { Score } from '../choose/tune/score';
import { dimensionOf } from '../metrics/measure';
import type { Reason } from '../choose/tune/reasons';
import type { Rig } from '../model/rig';
import type { DimensionName } from '../units/dimensions';
import { formatSi, formatTime } from '../units/units';
import { caution } from './caution';
import { conflictLines, type LineOf } from './tune-conflicts';
import { textTable } from './text-table';
import { say } from '../words/say';

const amount = (value: number, dimension: string): string => formatSi(value, dimension as DimensionName);

export function tuneReport(answer: TuneAnswer, lineOf: LineOf): string[] {
  const { tuned, conflicts } = answer;
  const { rig } = tuned.best.facts;
  const lines = [rig.title ? `${rig.name}: ${rig.title}` : rig.name, ''];
  if (conflicts.length > 0) lines.push(...conflictLines(conflicts, lineOf), '');
  lines.push(...valueTable(answer), '', ...aimTable(answer), '');
  lines.push(...tuneNotes(answer).map((note) => `  ${note}`));
  return [...lines, '', `  ${caution()}`];
}

/** What else there is to know about a suggestion, one sentence each. */
export function tuneNotes(answer: TuneAnswer): string[] {
  const { rig } = answer.tuned.best.facts;
  const lines: string[] = [];
  lines.push(...toleranceNotes(answer));
  if (answer.asGood) lines.push(say`The present values are as good as any that was found.`);
  lines.push(...undecidedAims(answer));
  lines.push(scopeText(answer));
  if (!answer.conflictsComplete)
    lines.push(say`What else cannot hold was not computed: the search ended with its budget (--runs).`);
  const stops = stopTexts(answer);
  if (stops.length > 0) lines.push(say`What stops it from getting better: ${stops.join('; ')}.`);
  for (const { requirement, by, of, gain } of answer.prices) {
    const asked = say`If ${rig.requirements[requirement]!.text} asked for ${formatTime(by)} less`;
    const aim = rig.preferences[0];
    const grows = say`the smallest slack would grow by ${(gain * 100).toFixed(1)} % of its bound`;
    const moves =
      aim &&
      (aim.direction === 'least'
        ? say`${aim.metric} would be ${formatTime(Math.round(gain))} less`
        : say`${aim.metric} would be ${formatTime(Math.round(gain))} more`);
    lines.push(`${asked}, ${of === 'aim' && moves ? moves : grows}.`);
  }
  if (answer.proof !== 'not-asked') lines.push(proofText(answer.proof, answer));
  return lines;
}

/** What holds with the suggested values as they are, and not with everything that the stated tolerances allow. */
function toleranceNotes({ after, tuned }: TuneAnswer): string[] {
  if (tuned.best.missing > 0) return [];
  const textsOf = (states: readonly ToleranceState[]): string =>
    after
      .flatMap((v) =>
        v.verdict.state === 'met' && v.worst && states.includes(v.worst.state) ? [textWithWorst(v)] : [],
      )
      .join('; ');
  const [broken, open] = [textsOf(['broken', 'unclear']), textsOf(['not-guaranteed'])];
  return [
    ...(broken === ''
      ? []
      : [
          say`NOT KEPT within the stated tolerances: ${broken}. No choice was found that keeps every requirement at its worst.`,
        ]),
    ...(open === '' ? [] : [say`Not guaranteed within the stated tolerances: ${open}.`]),
  ];
}

const textWithWorst = (value: RequirementValue): string => {
  const { slack } = value.worst!;
  const { text } = value.requirement;
  return slack !== null && slack < 0 ? say`${text}, at worst ${spareText(slack, value.dimension!)}` : text;
};

/** Preferences that have no finite value with what is suggested, so that they could not tell one choice from another. */
function undecidedAims({ tuned: { best } }: TuneAnswer): string[] {
  return best.facts.rig.preferences.flatMap(({ text }, k) =>
    Number.isFinite(best.aims[k] ?? 0)
      ? []
      : [say`prefer ${text} decides nothing: there is no finite value of it here.`],
  );
}

/** Requirements as written, and ends of ranges by name. */
function stopTexts({ binds, chosen, tuned }: TuneAnswer): string[] {
  const ends = binds.ends.map(({ variable, end }) => {
    const { name, dimension, low, high } = chosen[variable]!.variable;
    return end === 'low'
      ? say`${name} is at the low end of its range (${amount(low, dimension)})`
      : say`${name} is at the high end of its range (${amount(high, dimension)})`;
  });
  return [...binds.requirements.map((k) => tuned.best.facts.rig.requirements[k]!.text), ...ends];
}

function proofText(proof: Exclude<ProofState, 'not-asked'>, { refuted, tuned }: TuneAnswer): string {
  if (proof === 'proved') return say`What must always or never be is proved for the suggestion.`;
  if (proof === 'undecided') return say`What must always or never be is not decided within the budget of the proof.`;
  const texts = refuted.map((k) => tuned.best.facts.rig.requirements[k]!.text).join('; ');
  return say`REFUTED for the suggestion: ${texts}. Inputs that change at other moments, or times within their tolerances, break it; with the values in the text, caisson prove shows how.`;
}

function scopeText({ tuned }: TuneAnswer): string {
  const orders = tuned.orders === 1 ? say`1 order of events` : say`${tuned.orders} orders of events`;
  const ended = tuned.complete ? '' : say`; the search ended with its budget (--runs)`;
  if (tuned.best.missing > 0) return say`Looked for in ${orders}${ended}.`;
  const basis = tuned.solution ? say`the optimum of its order of events` : say`found by trying steps from there`;
  return say`Best of ${orders} that were reached; ${basis}${ended}.`;
}

function valueTable({ chosen, tuned }: TuneAnswer): string[] {
  const rows = chosen.map(({ variable, value }) => [
    variable.name,
    amount(variable.now, variable.dimension),
    value === variable.now ? 'stays' : amount(value, variable.dimension),
    `${amount(variable.low, variable.dimension)} .. ${amount(variable.high, variable.dimension)}`,
  ]);
  return textTable(
    [[say`constant`, say`now`, tuned.best.missing > 0 ? say`misses least` : say`suggested`, say`range`], ...rows],
    ['left', 'right', 'right', 'left'],
  );
}

function aimTable(answer: TuneAnswer): string[] {
  const rows = aimRows(answer).map(({ text, now, then }) => [text, now, then]);
  return textTable([[say`required, preferred`, say`now`, say`then`], ...rows], ['left', 'left', 'left']);
}

/** What is required and what is preferred, with its value now and with what is suggested. */
function aimRows(answer: TuneAnswer): SuggestionTable['requirements'] {
  const { before, after } = answer;
  return [
    ...after.map((v, k) => ({ text: v.requirement.text, now: valueText(before[k]!), then: valueText(v) })),
    ...preferredValues(answer).map(({ text, dimension, now, then }) => {
      const shown = (value: number): string => (Number.isFinite(value) ? amount(value, dimension) : say`no value`);
      return { text: say`prefer ${text}`, now: shown(now), then: shown(then) };
    }),
  ];
}

/** Values of what is preferred, the worst of several cases; not finite where there is none. */
function preferredValues({ tuned: { now, best } }: TuneAnswer): readonly Preferred[] {
  return best.facts.rig.preferences.map(({ text, direction, metric }, k) => {
    const value = ({ aims }: Score): number => (direction === 'least' ? -aims[k]! : aims[k]!);
    // What holds or does not is refused before anything is tuned.
    const dimension = dimensionOf(metric, best.facts.rig) ?? 'none';
    return { text, dimension, now: value(now), then: value(best) };
  });
}

interface Preferred {
  readonly text: string;
  readonly dimension: string;
  /** Microseconds for times, SI units otherwise. */
  readonly now: number;
  readonly then: number;
}

/** Times in seconds, everything else in SI units. */
export function tuneJson(answer: TuneAnswer, lineOf: LineOf): object {
  const { tuned, chosen, after, before, conflicts, binds, prices, proof, asGood } = answer;
  const { rig } = tuned.best.facts;
  const si = (value: number | null, dimension: string | null): number | null =>
    value === null || !Number.isFinite(value) ? null : dimension === 'time' ? value / 1e6 : value;
  return {
    name: rig.name,
    feasible: tuned.best.missing === 0,
    asGood,
    orders: tuned.orders,
    complete: tuned.complete && answer.conflictsComplete,
    chosen: chosen.map(({ variable: v, value }) => ({
      name: v.name,
      dimension: v.dimension,
      now: si(v.now, v.dimension),
      suggested: si(value, v.dimension),
    })),
    requirements: after.map((value, k) => ({
      text: value.requirement.text,
      state: value.verdict.state,
      slackNow: si(before[k]!.slack, before[k]!.dimension),
      slackThen: si(value.slack, value.dimension),
      withinTolerance: value.worst?.state ?? null,
      slackWithinTolerance: si(value.worst?.slack ?? null, value.dimension),
    })),
    preferences: preferredValues(answer).map(({ text, dimension, now, then }) => ({
      text,
      dimension,
      now: si(now, dimension),
      then: si(then, dimension),
    })),
    binds: binds.requirements.map((k) => rig.requirements[k]!.text),
    atEndOfRange: binds.ends.map(({ variable, end }) => ({ name: chosen[variable]!.variable.name, end })),
    prices: prices.map(({ requirement, by, of, gain }) => ({
      requirement: rig.requirements[requirement]!.text,
      by: by / 1e6,
      of,
      gain: of === 'aim' ? gain / 1e6 : gain,
    })),
    conflicts: conflicts.map((set) => set.map(({ requirement: { text, at } }) => ({ text, line: lineOf(at) }))),
    proof,
  };
}

/** A suggestion as the tables of a preview: no units to convert, no words to add. */
export interface SuggestionTable {
  /** The result, in one sentence. */
  readonly summary: string;
  /** `suggested`: null where it stays. */
  readonly constants: readonly {
    readonly name: string;
    readonly now: string;
    readonly suggested: string | null;
    readonly why: string;
  }[];
  readonly requirements: readonly { readonly text: string; readonly now: string; readonly then: string }[];
  readonly notes: readonly string[];
}

export function suggestionTable(
  answer: TuneAnswer,
  reasons: readonly (Reason | null)[],
  lineOf: LineOf,
): SuggestionTable {
  const { rig } = answer.tuned.best.facts;
  const conflict = conflictLines(answer.conflicts, lineOf).map((line) => line.trim());
  return {
    summary: summaryOf(answer),
    constants: answer.chosen.map(({ variable: v, value }, k) => ({
      name: v.name,
      now: amount(v.now, v.dimension),
      suggested: value === v.now ? null : amount(value, v.dimension),
      why: value === v.now ? '' : whyText(rig, amount(v.now, v.dimension), reasons[k] ?? null),
    })),
    requirements: aimRows(answer),
    notes: [...(conflict.length > 0 ? [conflict.join(' ')] : []), ...tuneNotes(answer)],
  };
}

function summaryOf({ chosen, after, tuned, asGood }: TuneAnswer): string {
  if (tuned.best.missing > 0) return say`No choice within the ranges was found that keeps every requirement.`;
  if (asGood) return say`The present values are as good as any that was found.`;
  const changed = chosen.filter(({ variable, value }) => value !== variable.now).length;
  const values = changed === 1 ? say`1 value changes` : say`${changed} values change`;
  const met = after.filter((value) => value.verdict.state === 'met').length;
  return after.length === 1
    ? say`${values}; ${met} of 1 requirement holds.`
    : say`${values}; ${met} of ${after.length} requirements hold.`;
}

function whyText(rig: Rig, now: string, reason: Reason | null): string {
  if (reason === null) return '';
  if (reason.kind === 'gone') return say`With ${now} the rig could not be computed.`;
  if (reason.kind === 'free') return say`With ${now} nothing would be lost.`;
  if (reason.kind === 'requirement')
    return say`With ${now}, ${reason.would.requirement.text} would be ${valueText(reason.would)}.`;
  const { direction, text } = rig.preferences[reason.preference]!;
  return direction === 'least'
    ? say`With ${now} there is more ${text.replace(/^(least|most)\s+/, '')}, of which the least is preferred.`
    : say`With ${now} there is less ${text.replace(/^(least|most)\s+/, '')}, of which the most is preferred.`;
}
