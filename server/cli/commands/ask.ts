/** `caisson ask`: any metric of a rig, without a requirement in its text. */
import { askRig, type Answer } from '../../core/document/ask';
import { valueText } from '../../core/metrics/requirement-value';
import { formatSi } from '../../core/units/units';
import type { DimensionName } from '../../core/units/dimensions';
import { openInputs, parseLets } from '../inputs';
import { UsageError } from '../io';
import { selectRig } from '../select';
import { taken } from '../taken';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, stringsOf, type Command } from './command';

export const ask: Command = {
  name: 'ask',
  words: 'FILE|- "METRIC(…)" …',
  summary: 'the value of any metric: caisson ask bank.rig "strokes_to(store, 6 bar)"',
  help: [
    'A question with a comparison is judged: "repeat() <= 18 s"; exit code 1 where one does not hold.',
    '--json                  the same as JSON: times in seconds, all else in SI units',
    '--rig NAME              of this rig, where the file holds several',
    ...LET_HELP,
  ],
  options: { ...LET_OPTION, json: { type: 'boolean' }, rig: { type: 'string' } },
  run(io, [file, ...questions], values) {
    if (file === undefined || questions.length === 0)
      throw new UsageError('Name a .rig file and what to ask, such as caisson ask bank.rig "repeat()".');
    const inputs = openInputs(io, [file], inputOptions(values));
    const { input, facts } = selectRig(inputs, stringOf(values, 'rig'));
    const overrides = parseLets(stringsOf(values, 'let'));
    const answers = questions.map((q) => ({
      question: q.trim(),
      answer: askRig(input.document, facts.rig, q, { overrides }),
    }));
    for (const { question, answer } of answers) {
      const message = problemOf(answer);
      if (message !== null) throw new UsageError(`${question}: ${message}`);
    }
    if (values['json']) io.out(taken({ rig: facts.rig.name, answers: answers.map(answerJson) }));
    else io.out(answers.map(({ question, answer }) => `${question}${words(answer)}\n`).join(''));
    const blocked = blockingErrors(io, inputs);
    return answers.some(({ answer }) => answer.kind === 'judged' && answer.value.verdict.state !== 'met') ? 1 : blocked;
  },
};

function problemOf(answer: Answer): string | null {
  if (answer.kind === 'problem') return answer.message;
  if (answer.kind === 'judged') return answer.value.verdict.state === 'invalid' ? answer.value.verdict.message : null;
  return answer.measurement.kind === 'invalid' ? answer.measurement.message : null;
}

/** What is written behind the question. */
function words(answer: Answer): string {
  if (answer.kind === 'problem') return `: ${answer.message}`;
  if (answer.kind === 'judged') return `: ${valueText(answer.value)}`;
  const { measurement } = answer;
  if (measurement.kind === 'invalid') return `: ${measurement.message}`;
  if (measurement.kind === 'none')
    return measurement.ofMetric ? ` ${measurement.why}` : `: no value: ${measurement.why}`;
  const { dimension, values } = measurement;
  const found = values
    .map(({ value, why, since }) => `${valueWords(value, dimension)} (${why}${since === '' ? '' : `, ${since}`})`)
    .join('; ');
  return `: ${found}`;
}

function valueWords(value: number, dimension: string | null): string {
  if (dimension === null) return value === 1 ? 'holds' : 'does not hold';
  return Number.isFinite(value) ? formatSi(value, dimension as DimensionName) : 'without end';
}

function answerJson({ question, answer }: { question: string; answer: Answer }): object {
  if (answer.kind === 'judged') {
    const { verdict, value, slack, dimension } = answer.value;
    return { question, state: verdict.state, dimension, value: si(value, dimension), slack: si(slack, dimension) };
  }
  if (answer.kind !== 'measured' || answer.measurement.kind !== 'values')
    return {
      question,
      values: [],
      why: answer.kind === 'measured' && answer.measurement.kind === 'none' ? answer.measurement.why : null,
    };
  const { dimension, values } = answer.measurement;
  return {
    question,
    dimension,
    values: values.map(({ value, why, since }) => ({ value: si(value, dimension), why, since })),
  };
}

/** Seconds for times, SI otherwise; null without end. */
function si(value: number | null, dimension: string | null): number | null {
  if (value === null || !Number.isFinite(value)) return null;
  return dimension === 'time' ? value / 1e6 : value;
}
