/** The blocks of a control network as statements of Verilog: what each does when it looks at its inputs, and when its time runs out. */
import { fold } from '../../model/logic';
import type { Element, Logic, Rig } from '../../model/rig';
import type { Identifiers } from './identifiers';
import type { Output } from './outputs';

export interface VerilogParts {
  readonly rig: Rig;
  readonly names: Identifiers;
  readonly scanned: boolean;
}

/** What is driven, with the name of its port. */
export type Named = Output & { readonly id: string };

/** Nets of switches and sensors. */
export const inputNets = ({ rig }: VerilogParts): number[] =>
  rig.network.nets.flatMap((net, index) => (net.kind === 'element' ? [] : [index]));

/** The register of a net. */
export const netName = ({ rig, names }: VerilogParts, net: number): string => names.of(rig.network.nets[net]!.name);

/**
 * What a block remembers, by what it is: `q` what it decided, `in` the input seen before, `due` when its time runs out; of one with a response
 * how many of its changes were `sent`, `came` after the response, and were `seen` by the network.
 */
export const held = (
  { names }: VerilogParts,
  e: Element,
  what: 'q' | 'in' | 'due' | 'ring' | 'count' | 'sent' | 'came' | 'seen',
): string => names.made(`${e.name} ${what}`);

/** A time or other whole number, wide enough for any. */
export const wide = (value: number): string => `64'd${value}`;

/** Joins settle at once: logic without a response, which holds no state. */
export const isJoin = ({ scanned }: VerilogParts, e: Element): boolean =>
  !scanned && e.kind === 'LOGIC' && e.response.nominal === 0;

const isTrigger = (e: Element): boolean => e.kind === 'R_TRIG' || e.kind === 'F_TRIG';

/** How long the time of a block runs: its preset, or the response of an edge block; 0 where it has none. */
export function running(p: VerilogParts, e: Element): number {
  if (isTrigger(e)) return p.scanned ? 0 : e.response.nominal;
  return e.preset?.nominal ?? 0;
}

export function logicText(p: VerilogParts, logic: Logic): string {
  const two = (mark: string) => (a: string, b: string) => `(${a} ${mark} ${b})`;
  return fold<string>(logic, {
    net: (net) => netName(p, net),
    const: (value) => (value ? "1'b1" : "1'b0"),
    not: (a) => `(!${a})`,
    and: two('&&'),
    or: two('||'),
    xor: two('!='),
  });
}

/** Statements that set `q` from the inputs of a block and what it remembers, as IEC 61131-3 defines the blocks. */
export function lookLines(p: VerilogParts, e: Element): string[] {
  const reads = [`x = ${logicText(p, e.inputs[0]!)};`, ...(e.inputs[1] ? [`y = ${logicText(p, e.inputs[1])};`] : [])];
  const keeps = remembersInput(p, e) ? [`${held(p, e, 'in')} = x;`] : [];
  return [...reads, `q = ${held(p, e, 'q')};`, ...decision(p, e), ...keeps];
}

/** Whether the block looks for edges of its input. */
export const remembersInput = (p: VerilogParts, e: Element): boolean =>
  isTrigger(e) || (e.kind === 'CTU' && e.count !== 0) || running(p, e) > 0;

function decision(p: VerilogParts, e: Element): string[] {
  const before = held(p, e, 'in');
  const time = running(p, e);
  const start = startOf(p, e, time);
  const stop = `${held(p, e, 'due')} = NEVER;`;
  switch (e.kind) {
    case 'LOGIC':
      return ['q = x;'];
    case 'TON':
      if (time === 0) return ['q = x;'];
      return [`if (x && !${before}) begin ${start} end`, `if (!x) begin ${stop} q = 1'b0; end`];
    case 'TOF':
      if (time === 0) return ['q = x;'];
      return [`if (!x && ${before}) begin ${start} end`, `if (x) begin ${stop} q = 1'b1; end`];
    case 'TP':
      if (time === 0) return [];
      return [`if (x && !${before} && ${held(p, e, 'due')} == NEVER) begin ${start} q = 1'b1; end`];
    case 'R_TRIG':
    case 'F_TRIG': {
      // F_TRIG sees its input inverted, also at its first look.
      const invert = e.kind === 'F_TRIG' ? ['x = !x;'] : [];
      if (time === 0) return [...invert, `q = x && !${before};`];
      return [...invert, `if (x && !${before}) begin ${start} q = 1'b1; end`];
    }
    case 'SR':
      return ['q = x || (!y && q);'];
    case 'RS':
      return ['q = !y && (x || q);'];
    case 'CTU':
      return counting(p, e, before);
  }
}

function startOf(p: VerilogParts, e: Element, time: number): string {
  const due = `${held(p, e, 'due')} = now + ${wide(time)};`;
  // The ring wakes the network when the time has run out; a later start rings again, and one that was stopped rings for nothing.
  return p.scanned ? due : `${due} ${held(p, e, 'ring')} <= #(${wide(time)}) now + ${wide(time)};`;
}

function counting(p: VerilogParts, e: Element, before: string): string[] {
  const limit = e.count ?? 0;
  // PV 0 is reached before anything is counted.
  if (limit === 0) return ["q = 1'b1;"];
  const count = held(p, e, 'count');
  return [
    `if (y) ${count} = ${wide(0)}; else if (x && !${before} && ${count} < ${wide(limit)}) ${count} = ${count} + ${wide(1)};`,
    `q = ${count} >= ${wide(limit)};`,
  ];
}

/** What a block decides when its time has run out: an on-delay goes on, everything else off. */
export const expired = (e: Element): string => (e.kind === 'TON' ? "1'b1" : "1'b0");
