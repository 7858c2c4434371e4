/** Value change dumps: the reader against valid and invalid files, the writer against the reader and against an independent parser. */
import { parse as parseVcd } from 'vcd-parser';
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import type { Trace } from '../../server/core/timing/trace';
import { laneTrace } from '../../server/core/timing/lanes';
import { traceScenario } from '../../server/core/timing/scenario';
import { vcdPieces } from '../../server/core/timing/vcd';
import { S, TP, not, sketch, workedExample } from '../support/network';
import { readVcd } from '../support/vcd';

const vcdText = (rig: Rig, trace: Trace): string => [...vcdPieces(rig, [trace])].join('');

const HEAD = '$timescale 1 ms $end';
const ONE = '$scope module a $end $var wire 1 ! g $end $upscope $end $enddefinitions $end';

describe('the reader, IEEE Std 1364-2005 clause 18', () => {
  it('takes a valid file', () => {
    const vcd = readVcd(
      `$date 2024-01-01 $end\n$version rig check $end\n${HEAD}\n$scope module rig $end\n$var wire 1 ! gate_a $end\n` +
        '$var wire 1 " gate_b $end\n$var wire 4 # step [3:0] $end\n$var real 64 $ p_low $end\n$upscope $end\n$enddefinitions $end\n' +
        '#0\n$dumpvars\n0!\n1"\nb0 #\nr101325 $\n$end\n#250\n1!\n#1250\n0!\nb10 #\nr2.5e5 $\n#1300\nx"\nbx #\n#1400\nz"\nb1x0 #\n',
    );
    expect(vcd.variables.map((v) => v.name)).toEqual(['rig/gate_a', 'rig/gate_b', 'rig/step', 'rig/p_low']);
    expect(vcd.changes).toHaveLength(12);
    expect(vcd.end).toBe(1400);
  });

  it('takes one-line style, long identifiers, events and dumpoff', () => {
    const vcd = readVcd(
      '$timescale 100us $end\n$scope module a $end $scope begin b $end\n$var reg 8 !! w [7:0] $end\n$var event 1 ~ tick $end\n' +
        '$upscope $end $upscope $end\n$enddefinitions $end\n$comment initial block $end\n#0 $dumpvars b00001111 !! $end\n#7 bzz1 !! 1~\n' +
        '#7 1~\n#9 $dumpoff bx !! $end\n#20 $dumpon b1 !! $end',
    );
    expect(vcd.changes).toHaveLength(6);
  });

  it.each([
    ['scalar with space', `${HEAD} $enddefinitions $end\n#0\n1 !`],
    ['vector without space', `${HEAD} $enddefinitions $end\n#0\nb1010!`],
    ['timescale 5', '$timescale 5 ms $end $enddefinitions $end'],
    ['timescale unit min', '$timescale 1 min $end $enddefinitions $end'],
    ['scope type chamber', `${HEAD} $scope chamber a $end $upscope $end $enddefinitions $end`],
    ['var type valve', `${HEAD} $scope module a $end $var valve 1 ! g $end $upscope $end $enddefinitions $end`],
    ['missing $end', '$timescale 1 ms $scope module a $end $enddefinitions $end'],
    ['negative time', `${HEAD} $enddefinitions $end\n#-5`],
    ['fractional time', `${HEAD} $enddefinitions $end\n#1.5`],
    ['value 2', `${HEAD} $enddefinitions $end\n#0\n2!`],
    ['real not a number', `${HEAD} $enddefinitions $end\n#0\nrabc !`],
    ['time decreasing', `${HEAD} ${ONE}\n#10\n1!\n#5\n0!`],
    ['unknown id', `${HEAD} ${ONE}\n#0\n1@`],
    ['vector wider than declared', `${HEAD} ${ONE.replace('wire 1', 'wire 2')}\n#0\nb10101 !`],
    ['upscope unbalanced', `${HEAD} ${ONE.replace('$upscope $end ', '')}\n#0\n1!`],
    ['no enddefinitions', `${HEAD} ${ONE.replace('$enddefinitions $end', '')}\n#0\n1!`],
    ['identifier starts with digit', `${HEAD} $scope module 1a $end $upscope $end $enddefinitions $end`],
    ['unknown keyword', `${HEAD} $colour red $end $enddefinitions $end`],
  ])('rejects %s', (_, text) => expect(() => readVcd(text)).toThrow());
});

const bank = workedExample();
const odd: Rig = sketch({
  name: 'Schütz 1',
  sensors: { 'line.full': 'above' },
  signals: { 'line.öffnen': TP('line.full', S), leer: not('line.full') },
  doors: { 'line.tür': 100_000 },
  drives: { 'line.tür': 'line.öffnen' },
});
const cases: [string, Rig, Trace][] = [
  ['the worked example', bank, traceScenario(bank, null, 25 * S)],
  ['names that are no simple identifiers', odd, traceScenario(odd, null, 3 * S)],
];

/** Lane changes as `time name value`, names as the dump must write them. */
function expected(rig: Rig, trace: Trace): string[] {
  const { lanes, changes } = laneTrace(rig, trace);
  const ascii = (name: string) => name.replace(/[^!-~]/gu, (c) => `~${c.codePointAt(0)!.toString(16)}`);
  return [
    ...lanes.map((lane) => `0 ${ascii(lane.name)} ${lane.initial ? 1 : 0}`),
    ...changes.map((c) => `${c.t} ${ascii(lanes[c.lane].name)} ${c.value ? 1 : 0}`),
  ];
}

function told(text: string): string[] {
  const vcd = readVcd(text);
  const nameOf = new Map(vcd.variables.map((v) => [v.id, v.name.split('/').at(-1)]));
  return vcd.changes.map((c) => `${c.t} ${nameOf.get(c.id)} ${c.value}`);
}

describe('the writer', () => {
  it.each(cases)('says what the trace says: %s', (_, rig, trace) => {
    const text = vcdText(rig, trace);
    expect(told(text)).toEqual(expected(rig, trace));
    expect(readVcd(text)).toMatchObject({ timescale: '1us', end: trace.end });
  });

  it('numbers more than 94 lanes', () => {
    const names = Array.from({ length: 300 }, (_, i) => `lamp${i}`);
    const rig = sketch({ switches: { run: true }, signals: Object.fromEntries(names.map((n) => [n, 'run'])) });
    const { variables } = readVcd(vcdText(rig, traceScenario(rig, null, S)));
    expect(new Set(variables.map((v) => v.id)).size).toBe(301);
  });
});

describe('vcd-parser, an independent reader from the npm registry', () => {
  it.each(cases)('takes the dump and gives the same changes back: %s', async (_, rig, trace) => {
    const { signal } = await parseVcd(vcdText(rig, trace));
    const told = signal.flatMap(({ signalName, wave }) => wave.map(([t, value]) => `${t} ${signalName} ${value}`));
    // The reader gives names as written, escaped ones with their backslash, and starts every lane with its value at 0.
    expect(told.map((line) => line.replace(' \\', ' ')).sort()).toEqual(expected(rig, trace).sort());
  });
});
