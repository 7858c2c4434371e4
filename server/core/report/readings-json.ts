/** JSON of what readings say of a rig. Times in seconds, everything else in SI units. */
import type { Comparison, ComparedEdge } from '../readings/compare';
import type { ReadingPoint } from '../readings/compare-readings';
import type { Diagnosis } from '../readings/diagnose';
import type { TestNode } from '../readings/fault-tree';
import type { FaultReport } from '../readings/faults';
import type { FitReport, FittedProperty } from '../readings/fit';

const seconds = (us: number): number => us / 1e6;
const secondsOrNull = (us: number | null): number | null => us && us / 1e6;
const timed = <T extends { readonly t: number }>(at: T): T => ({ ...at, t: seconds(at.t) });

export function compareJson({ offset, edges, first, readings, ...rest }: Comparison): object {
  return {
    offset: seconds(offset),
    edges: edges.map(edgeJson),
    first: first && edgeJson(first),
    readings: readings.map((reading) => ({
      ...reading,
      points: reading.points.map((point): ReadingPoint => timed(point)),
      first: reading.first && timed(reading.first),
    })),
    ...rest,
  };
}

function edgeJson({ expected, measured, early, late, chain, ...rest }: ComparedEdge): object {
  return {
    ...rest,
    expected: secondsOrNull(expected),
    measured: secondsOrNull(measured),
    early: seconds(early),
    late: seconds(late),
    chain: chain.map(({ response, preset, travel, ...link }) => ({
      ...timed(link),
      response: seconds(response),
      preset: seconds(preset),
      travel: seconds(travel),
    })),
  };
}

export const diagnosisJson = ({ next, ...rest }: Diagnosis): object => ({ ...rest, next: next && timed(next) });

export function faultsJson({ stimuli, effects, classes, tree, already, left }: FaultReport): object {
  return {
    stimuli,
    effects: effects.map(({ fault, class: of }) => ({ kind: fault.kind, mode: fault.mode, class: of })),
    classes: classes.map(({ first, contents, apart, ...rest }) => ({
      ...rest,
      first: first && timed(first),
      contents: contents && timed(contents),
      apart: apart && nodeJson(apart),
    })),
    tree: nodeJson(tree),
    already,
    left,
  };
}

const nodeJson = (node: TestNode): object =>
  node.kind === 'leaf'
    ? node
    : { ...timed(node), outcomes: node.outcomes.map(({ seen, then }) => ({ seen, then: nodeJson(then) })) };

export function fitJson({ properties }: FitReport): object[] {
  return properties.map(({ of, name, property, literal, stated, dimension, fitted: found }: FittedProperty) => {
    const unit = dimension === undefined && property !== 'moves' ? 1e6 : 1;
    return {
      of,
      name,
      property,
      literal,
      value: found.value / unit,
      deviation: found.deviation / unit,
      interval: found.interval.map((end) => end / unit),
      observations: found.observations,
      stated: stated === null ? null : stated / unit,
    };
  });
}
