/** One part of an exploration as text rows: the same in the main program and in a worker, so that every way of running gives the same bytes. */
import type { Axis, Plan } from '../core/choose/explore/plan';
import { gridPlan, latinPlan } from '../core/choose/explore/plan';
import { choiceMeter, type Measure, type Measured } from '../core/choose/explore/measure';
import { createDocument } from '../core/document/document';
import { constantsProblem } from '../core/document/tune-problem';
import { requirementProblem } from '../core/metrics/arguments';
import { dimensionOf, measureProblem } from '../core/metrics/measure';
import type { TuneProblem } from '../core/choose/tune/problem';
import type { DimensionName } from '../core/units/dimensions';
import { formatSi } from '../core/units/units';
import { openInputs, parseLets, type Input } from './inputs';
import { UsageError, type Io } from './io';

/** Everything that says what is explored; plain data, so that a worker can be given it. */
export interface Exploration {
  /** Absolute path of the file. */
  readonly path: string;
  readonly rig: string;
  readonly lets: readonly string[];
  readonly axes: readonly Axis[];
  readonly measures: readonly { readonly text: string; readonly least: boolean }[];
  /** Number of sampled choices, null: the whole grid. */
  readonly samples: number | null;
  readonly seed: number;
  readonly format: 'jsonl' | 'csv';
}

export interface Explorer {
  readonly plan: Plan;
  /** Dimension of each measure; null where it holds or not. */
  readonly dimensions: readonly (string | null)[];
  readonly measure: (index: number) => Measured;
  /** The row of one choice, with its line end. */
  readonly row: (index: number) => string;
}

/** The first line of a table in CSV. */
export function headerOf({ axes, measures }: Exploration): string {
  const cells = ['index', ...axes.map((a) => a.name), ...measures.map((m) => m.text), 'failed'];
  return cells.map((c) => (/[",\n]/.test(c) ? `"${c.replace(/"/g, '""')}"` : c)).join(',') + '\n';
}

/** Reads the rig and everything asked of it; throws a `UsageError` with one sentence for what cannot be. */
export function openExploration(io: Io, exploration: Exploration): Explorer {
  const { axes, measures, rig: name } = exploration;
  const [input] = openInputs(io, [exploration.path], { lets: exploration.lets }) as [Input];
  const rig = input.document.resolved().rigs.find((r) => r.name === name)!;
  const at = rig.whole.end - 1;
  const text = `${input.document.text.slice(0, at)}\n${measures.map((m) => `require ${m.text}\n`).join('')}${input.document.text.slice(at)}`;
  const document = createDocument({ uri: input.document.uri, version: 0, text }, input.document.readText, {
    overrides: parseLets(exploration.lets),
  });
  const own = rig.requirements.length;
  const asked = document.resolved().rigs.find((r) => r.name === name)!;
  measures.forEach((m, k) => refuseUnsound(asked.requirements[own + k] ? null : 'it is not a metric', m.text));
  const problem = constantsProblem(document, name, axes, parseLets(exploration.lets));
  const base = problem.rigAt(axes.map((a) => a.low));
  const far = problem.rigAt(axes.map((a) => a.high));
  if (!base || !far) throw new UsageError(unreadable(problem));
  const dimensions = measures.map((m, k) => {
    const requirement = base.requirements[own + k];
    if (!requirement) return refuseUnsound('it is not a metric', m.text);
    refuseUnsound(measureProblem(base, requirement), m.text);
    const wrong = requirement.comparison ? requirementProblem(base, requirement) : null;
    if (wrong && wrong !== 'silent') refuseUnsound(wrong.message, m.text);
    if (requirement.comparison) refuseUnsound(BOUND_IN_MEASURE, m.text);
    return dimensionOf(requirement.metric, base);
  });
  const rows: Measure[] = measures.map((m, k) => ({ ...m, requirement: own + k }));
  const meter = choiceMeter(problem, rows, own);
  const plan = exploration.samples === null ? gridPlan(axes) : latinPlan(axes, exploration.samples, exploration.seed);
  return {
    plan,
    dimensions,
    measure: (index) => meter(plan.at(index)),
    row: (index) => rowText(exploration, index, plan.at(index), meter(plan.at(index)), dimensions),
  };
}

/** Which end of which range the text cannot be read with, others at the other end; all of them together where none does it alone. */
function unreadable({ variables, rigAt }: TuneProblem): string {
  for (const end of ['low', 'high'] as const) {
    const others = end === 'low' ? 'high' : 'low';
    const k = variables.findIndex((_, own) => !rigAt(variables.map((v, j) => v[j === own ? end : others])));
    const found = variables[k];
    if (found && rigAt(variables.map((v) => v[others])))
      return `--vary ${found.name}: the rig cannot be read with ${formatSi(found[end], found.dimension as DimensionName)}.`;
  }
  return 'The rig cannot be read with the ends of the ranges of --vary; check them against the text.';
}

const BOUND_IN_MEASURE =
  'a measure has no bound; measure the metric alone, and require the bound in the rig: the choices that miss it count as failed';

function refuseUnsound(why: string | null, text: string): null {
  if (why !== null) throw new UsageError(`--measure ${text}: ${why.replace(/\.$/, '')}.`);
  return null;
}

/** Seconds for times, SI otherwise. */
const si = (value: number | null, dimension: string | null): number | null =>
  value === null ? null : dimension === 'time' ? value / 1e6 : value;

function rowText(
  { axes, measures, format }: Exploration,
  index: number,
  values: readonly number[],
  found: Measured,
  dimensions: readonly (string | null)[],
): string {
  const choice = axes.map((a, k) => si(values[k]!, a.dimension));
  const numbers = found.measures.map((m, k) => si(m, dimensions[k]!));
  if (format === 'csv') return [index, ...choice, ...numbers.map((n) => n ?? ''), found.failed].join(',') + '\n';
  const named = (names: readonly string[], list: readonly (number | null)[]): object =>
    Object.fromEntries(names.map((name, k) => [name, list[k]]));
  return (
    JSON.stringify({
      index,
      values: named(
        axes.map((a) => a.name),
        choice,
      ),
      measures: named(
        measures.map((m) => m.text),
        numbers,
      ),
      failed: found.failed,
    }) + '\n'
  );
}
