/** Suggestions between the parentheses of a function block, a metric or a part. */
import { EVENT_WORDS, FUNCTIONS } from '../../../grammar/src/vocabulary';
import { metricNamed } from '../metrics/registry';
import type { Draft, Place } from './completion-draft';
import { expectsOperand, names, operands, operators, word } from './completion-draft';
import { say } from '../words/say';

export function inCall(place: Place): Draft[] {
  const call = place.context.call!;
  const { before } = place.context;
  if (before[0]?.text === 'place')
    return names(place, ['let', 'parameter', 'chamber', 'door', 'signal', 'sensor', 'switch']);
  const block = FUNCTIONS.find((f) => f.name === call.callee);
  if (block) {
    const input = block.inputs[call.argument];
    if (input === 'PT') return names(place, ['let', 'parameter'], 'time');
    if (input === 'PV') return names(place, ['let', 'parameter'], 'none');
    return input === undefined ? [] : expectsOperand(before) ? operands(place) : operators();
  }
  return inMetric(place, call.callee, call.argument);
}

function inMetric(place: Place, name: string, argument: number): Draft[] {
  const parameters = metricNamed(name)?.parameters ?? [];
  const parameter = parameters[argument] ?? (parameters.at(-1)?.kind === 'events' ? parameters.at(-1) : undefined);
  const { before } = place.context;
  const operand = expectsOperand(before);
  switch (parameter?.kind) {
    case 'door':
    case 'chamber':
      return operand ? names(place, [parameter.kind]) : [];
    case 'signal':
      return operand ? names(place, ['signal', 'sensor', 'switch']) : [];
    case 'condition':
      return operand
        ? [...names(place, ['door', 'signal', 'sensor', 'switch']), word('not', say`negation`)]
        : operators();
    case 'events':
      return operand ? names(place, ['door']) : EVENT_WORDS.map((w) => word(w, EVENT_DOCS[w]?.() ?? ''));
    case 'quantity':
      return operand ? names(place, ['let', 'parameter'], parameter.dimensions?.[0]) : [];
    default:
      return [];
  }
}

const EVENT_DOCS: Readonly<Record<string, () => string>> = {
  opens: () => say`leaves its shut position`,
  opened: () => say`is fully open`,
  closes: () => say`starts to close`,
  shuts: () => say`is fully shut`,
};
