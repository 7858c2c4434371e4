/** Text of comparisons, diagnoses and faults. Lines without line ends. */
import type { ComparedEdge, Comparison } from '../readings/compare';
import type { Diagnosis } from '../readings/diagnose';
import type { FaultReport } from '../readings/faults';
import type { TestNode } from '../readings/fault-tree';
import { formatTime } from '../units/units';
import { textTable } from './text-table';

/** Explanations listed at most. */
const MOST_EXPLANATIONS = 5;

export function deviationText({ expected, measured }: ComparedEdge): string {
  if (expected === null) return 'not expected';
  if (measured === null) return 'not seen';
  const off = measured - expected;
  return off === 0 ? 'on time' : `${formatTime(Math.abs(off))} ${off > 0 ? 'late' : 'early'}`;
}

const edgeName = (e: ComparedEdge): string => `${e.door} ${e.open ? 'opens' : 'shuts'}`;
const timeOr = (t: number | null): string => (t === null ? '-' : formatTime(t));

export function comparisonText({ edges, first, offset }: Comparison): string[] {
  const wrong = edges.filter((e) => !e.within).length;
  const summary = first
    ? `${wrong} of ${edges.length} edges deviate; first: ${edgeName(first)} (half way), expected ${timeOr(first.expected)}, measured ${timeOr(first.measured)}: ${deviationText(first)}.`
    : `All ${edges.length} edges are within tolerance.`;
  const rows = edges.map((e) => [
    e.within ? 'ok' : 'DEVIATES',
    edgeName(e),
    timeOr(e.expected),
    timeOr(e.measured),
    deviationText(e),
    e.expected === null ? '' : `-${formatTime(Math.round(e.early))} +${formatTime(Math.round(e.late))}`,
  ]);
  const table = textTable(
    [['', 'edge', 'expected', 'measured', 'deviation', 'allowed'], ...rows],
    ['left', 'left', 'right', 'right', 'right', 'left'],
  );
  const chain = (first?.chain ?? []).map(
    (c) => `  ${formatTime(c.t)}  ${c.name}${c.preset > 0 ? ` (preset ${formatTime(c.preset)})` : ''}`,
  );
  return [
    summary,
    `Time zero of the rig is ${formatTime(offset)} in the log; edges are taken half way.`,
    ...table,
    ...(chain.length > 0 ? ['On its chain of causes:', ...chain] : []),
  ];
}

export function diagnosisText({ ranking, next }: Diagnosis): string[] {
  const lines = ranking.slice(0, MOST_EXPLANATIONS).map(({ modes, probability, unexplained }, k) => {
    const left = unexplained > 0 ? `; ${unexplained} edges unexplained` : '';
    return `${k + 1}. ${(100 * probability).toFixed(1)} %  ${modes.join(', or ')}${left}`;
  });
  const look = next ? [`Look next at door ${next.door} ${formatTime(next.t)} ${next.stimulus}.`] : [];
  return [...lines, ...look];
}

/** Failure modes that look the same, what is seen, and what of the rig would notice: one row a class, the sound one first. */
export function faultRows(
  report: FaultReport,
): { readonly modes: string; readonly effect: string; readonly detection: string }[] {
  return report.classes.flatMap((c, k) => {
    const modes = c.members.map((m) => report.effects[m]!.fault.mode).join('; ');
    if (modes === '') return [];
    const effects = [
      k === 0 ? 'the doors do as designed' : '',
      c.first ? `first ${c.first.words} at ${formatTime(c.first.t)} ${c.first.stimulus}` : '',
      c.neverMove.length > 0 ? `never moves: ${c.neverMove.join(', ')}` : '',
      c.leftOpen.length > 0 ? `left open: ${c.leftOpen.join(', ')}` : '',
      c.straight.length > 0 ? `DANGEROUS, straight through: ${c.straight.join('; ')}` : '',
      c.broken.length > 0 ? `breaks: ${c.broken.join('; ')}` : '',
    ].filter((e) => e !== '');
    const detection =
      c.noticedBy.length > 0 ? c.noticedBy.join(', ') : 'none found (only doors that never move are considered)';
    return [{ modes, effect: effects.join('; '), detection }];
  });
}

export function faultsText(report: FaultReport): string[] {
  const rows = faultRows(report).flatMap(({ modes, effect, detection }, k) => [
    `${k}. failure modes: ${modes}`,
    `   effect: ${effect}`,
    `   detection: ${detection}`,
  ]);
  return [...rows, '', 'Tests that tell them apart:', ...treeText(report.tree, '  ')];
}

function treeText(node: TestNode, indent: string): string[] {
  if (node.kind === 'leaf') return [`${indent}class ${node.classes.join(', ')}`];
  return [
    `${indent}look at door ${node.door} ${formatTime(node.t)} ${node.stimulus}:`,
    ...node.outcomes.flatMap(({ seen, then }) => [`${indent}  ${seen}:`, ...treeText(then, `${indent}    `)]),
  ];
}
