/** Whether a requirement is well formed: its metric exists, its arguments and its comparison are of the kinds it takes. */
import { suggest } from '../model/near-match';
import type { Problem } from '../model/problem';
import type { MetricArgument, Preference, Requirement, Rig } from '../model/rig';
import type { DimensionName } from '../units/dimensions';
import { describe } from '../units/dimensions';
import { unitsOf } from '../units/units';
import type { Metric, Parameter } from './metric';
import { dimensionText, kindText, signatureOf } from './metric';
import { METRICS, metricNamed } from './registry';
import { conditionOf, netOfItem } from '../model/logic';
import { listText } from '../timing/words';
import { say } from '../words/say';

/** The one problem of a malformed requirement; null where it is sound. `silent`: already reported by the resolver. */
export function requirementProblem(rig: Rig, requirement: Requirement): Problem | 'silent' | null {
  const metric = metricNamed(requirement.metric);
  if (!metric) return unknownMetric(requirement);
  if (requirement.args.some((a) => a.kind === 'unknown')) return 'silent';
  return argumentProblem(rig, metric, requirement) ?? comparisonProblem(metric, requirement);
}

/** The one problem of a malformed preference: as a requirement's, and its metric gives a number. */
export function preferenceProblem(rig: Rig, preference: Preference): Problem | 'silent' | null {
  const metric = metricNamed(preference.metric);
  if (!metric) return unknownMetric(preference);
  if (metric.kind === 'state') {
    const message = say`${metric.name} holds or does not hold; prefer takes a metric that gives a number, such as repeat().`;
    return { code: 'require/arguments', severity: 'error', message, at: preference.metricAt };
  }
  if (preference.args.some((a) => a.kind === 'unknown')) return 'silent';
  return argumentProblem(rig, metric, preference);
}

/** What a requirement and a preference have in common. */
type Asked = Pick<Requirement, 'metric' | 'metricAt' | 'args' | 'at'>;

function unknownMetric(requirement: Asked): Problem | 'silent' {
  if (requirement.metric === '') return 'silent';
  const names = METRICS.map((m) => m.name);
  const { question, fixes } = suggest(requirement.metric, names, requirement.metricAt);
  const message = say`There is no metric ${requirement.metric}.${question || whatThereIs(requirement.metric)}`;
  return { code: 'name/unknown', severity: 'error', message, at: requirement.metricAt, fixes };
}

/** What a name that is like none may have meant: the metrics that measure it ("pressure"), or else all there are. */
function whatThereIs(name: string): string {
  const measuring = METRICS.filter((m) => m.kind !== 'state' && m.dimensions.some((d) => d === name));
  return measuring.length > 0
    ? say` Metrics that give a ${dimensionText(name as DimensionName)}: ${measuring.map((m) => m.name).join(', ')}.`
    : say` Metrics: ${METRICS.map((m) => m.name).join(', ')}.`;
}

function argumentProblem(rig: Rig, metric: Metric, requirement: Asked): Problem | null {
  const { args } = requirement;
  const variadic = metric.parameters[0]?.kind === 'events';
  const countFits = variadic ? args.length >= 2 : args.length === metric.parameters.length;
  if (!countFits) {
    const wanted = variadic ? say`at least two door events` : countText(metric.parameters.length);
    return wrong(
      requirement,
      args.length === 0
        ? say`${metric.name} takes ${wanted} and is given none: ${signatureOf(metric)}.`
        : say`${metric.name} takes ${wanted} and is given ${args.length}: ${signatureOf(metric)}.`,
    );
  }
  for (const [i, argument] of args.entries()) {
    const parameter = metric.parameters[variadic ? 0 : i]!;
    if (fits(rig, parameter, argument)) continue;
    const message = say`Argument ${i + 1} is ${argumentText(argument)} where ${metric.name} takes ${kindText(parameter)}: ${signatureOf(metric)}.`;
    return wrong(requirement, message, argument);
  }
  return sameTwice(metric, requirement);
}

function sameTwice(metric: Metric, requirement: Asked): Problem | null {
  const [a, b] = requirement.args;
  if (metric.parameters.length !== 2 || a?.kind !== 'item' || b?.kind !== 'item' || a.of !== 'door') return null;
  if (a.index !== b.index || b.of !== 'door') return null;
  return wrong(requirement, say`${metric.name} compares two doors and is given ${a.name} twice.`, b);
}

function countText(count: number): string {
  if (count === 0) return say`no arguments`;
  return count === 1 ? say`one argument` : count === 2 ? say`two arguments` : say`${count} arguments`;
}

function fits(rig: Rig, parameter: Parameter, argument: MetricArgument): boolean {
  switch (parameter.kind) {
    case 'door':
    case 'chamber':
      return argument.kind === 'item' && argument.of === parameter.kind;
    case 'signal':
      return argument.kind === 'item' && netOfItem(rig, argument) !== null;
    case 'events':
      return argument.kind === 'event';
    case 'condition':
      return conditionOf(rig, argument) !== null;
    case 'quantity':
      return argument.kind === 'quantity' && (parameter.dimensions ?? []).includes(argument.dimension as DimensionName);
  }
}

function argumentText(argument: MetricArgument): string {
  if (argument.kind === 'item') return say`the ${argument.of} ${argument.name}`;
  if (argument.kind === 'event') return say`an event of the door ${argument.name}`;
  return argument.kind === 'quantity' ? describe(argument.dimension as DimensionName) : say`a condition`;
}

function comparisonProblem(metric: Metric, requirement: Requirement): Problem | null {
  const { comparison } = requirement;
  if (metric.kind === 'state') {
    if (!comparison) return null;
    return wrong(requirement, say`${metric.name} holds or does not hold; it takes no comparison.`, comparison);
  }
  const wanted = listText(metric.dimensions.map(dimensionText), 'or');
  if (!comparison)
    return wrong(
      requirement,
      say`${metric.name} gives a ${wanted} and needs a comparison, for example ${exampleOf(metric)}.`,
    );
  if (metric.dimensions.includes(comparison.dimension as DimensionName)) return null;
  if (comparison.dimension === 'none') return noUnit(metric, requirement, comparison);
  const is = describe(comparison.dimension as DimensionName);
  return wrong(requirement, say`${metric.name} gives a ${wanted} and is compared with ${is}.`, comparison);
}

/** `>= 100` of a metric that gives a time: the units that are likely are offered. */
function noUnit(
  metric: Exclude<Metric, { kind: 'state' }>,
  requirement: Requirement,
  comparison: { readonly at: Problem['at'] },
): Problem {
  const wanted = listText(metric.dimensions.map(dimensionText), 'or');
  const units = metric.dimensions.flatMap((dimension) => unitsOf(dimension).slice(0, 2));
  const message = say`${metric.name} gives a ${wanted}; what it is compared with has no unit, such as ${units[0]?.name ?? ''}.`;
  const { uri, end } = comparison.at;
  const isLiteral = /[<>=] ?\d[\d.]*(?: during \w+)?$/.test(requirement.text);
  const fixes = (isLiteral ? units : []).map(({ name, doc }) => ({
    title: say`Add the unit ${name} (${doc})`,
    edits: [{ at: { uri, start: end, end }, text: ` ${name}` }],
  }));
  return { code: 'unit/missing', severity: 'error', message, at: comparison.at, fixes };
}

function exampleOf(metric: Metric): string {
  const amounts: Partial<Record<DimensionName, string>> = {
    time: '1 s',
    none: '100',
    mass: '1 kg',
    pressure: '6 bar',
    mass_flow: '0.1 kg/s',
    energy: '1 kJ',
    specific_energy: '100 kJ/kg',
  };
  const dimension = metric.kind === 'state' ? 'none' : metric.dimensions[0]!;
  return `>= ${amounts[dimension] ?? '1'}`;
}

function wrong(requirement: Asked, message: string, part?: { readonly at: Problem['at'] }): Problem {
  return { code: 'require/arguments', severity: 'error', message, at: part?.at ?? requirement.at };
}
