/**
 * States of a scanned rig between two scans, and the draft that one scan turns into the next state. A state is immutable and has a key; a
 * draft is scratch that splits where a tolerance leaves two answers. All of the past that matters is in counts of scans, each of which is
 * capped where more of it changes nothing.
 */
import type { Rig } from '../../model/rig';
import type { SymbolicState } from '../explore';
import type { Scope } from '../cone';
import type { Property } from '../monitor';
import type { ProofElement, ProofInput, ProofNetwork, Range } from '../network';

export interface ScanLabel {
  /** Value of every input at this scan. */
  readonly inputs: readonly boolean[];
}

/** A proof question about a scanned rig. */
export interface ScanModel {
  readonly rig: Rig;
  readonly network: ProofNetwork;
  readonly properties: readonly Property[];
  /** What each of them depends on, and all there is. */
  readonly scopes: ReadonlyMap<Property, Scope>;
  readonly whole: Scope;
  /** Time from scan to scan. */
  readonly scan: Range;
}

/** A door: where it is going, and how long it has been on the way (scans); `moving` false once it is there. */
export interface ScanDoor {
  readonly open: boolean;
  readonly moving: boolean;
  readonly scans: number;
  readonly due: Range;
  /** How far open it was when it set out, parts of 1. */
  readonly from: Range;
}

interface ScanMemory {
  readonly nets: Uint8Array;
  readonly outputs: Uint8Array;
  /** Last seen first input (IN, CLK, CU). */
  readonly seen: Uint8Array;
  /** CTU: count. TON, TOF, TP: scans since the timer started, −1 while it does not run. */
  readonly counts: Int32Array;
}

export interface ScanState extends SymbolicState, ScanMemory {
  readonly doors: readonly ScanDoor[];
  /** Scans since each input last changed, no further than its least times reach. */
  readonly held: readonly number[];
  /** Two a gap: time since each door was shut, no further than the least; then one an order: its place; then one a vented path. */
  readonly marks: readonly number[];
  readonly flags: readonly string[];
  /** Nothing at all is under way. */
  readonly still: boolean;
}

export interface ScanDraft extends ScanMemory {
  readonly doors: ScanDoor[];
  readonly held: number[];
  readonly marks: number[];
  readonly flags: Set<string>;
  /** For each order, how long ago at least its last event was, if it was since the scan before; else infinite. */
  readonly recent: number[];
}

export const isTimer = ({ kind }: ProofElement): boolean => kind === 'TON' || kind === 'TOF' || kind === 'TP';

export const elapsed = ({ scan }: ScanModel, count: number): Range => ({ lo: count * scan.lo, hi: count * scan.hi });

export function copyDraft(d: ScanDraft): ScanDraft {
  return {
    nets: d.nets.slice(),
    outputs: d.outputs.slice(),
    seen: d.seen.slice(),
    counts: d.counts.slice(),
    doors: [...d.doors],
    held: [...d.held],
    marks: [...d.marks],
    flags: new Set(d.flags),
    recent: [...d.recent],
  };
}

export const draftFrom = (state: ScanState): ScanDraft =>
  copyDraft({
    ...state,
    doors: [...state.doors],
    held: [...state.held],
    marks: [...state.marks],
    flags: new Set<string>(),
    recent: state.marks.map(() => Infinity),
  });

/** Before the first scan: everything off, doors at rest, inputs as they have been for long. */
export function firstDraft(model: ScanModel, marks: readonly number[]): ScanDraft {
  const { network, rig } = model;
  const still = { lo: 0, hi: 0 };
  const nets = new Uint8Array(network.nets);
  for (const input of network.inputs) nets[input.net] = input.initial ? 1 : 0;
  return {
    nets,
    outputs: new Uint8Array(network.elements.length),
    // An F_TRIG whose input is off at its first scan gives a pulse: its memory starts FALSE (IEC 61131-3, Table 44).
    seen: Uint8Array.from(network.elements, (element) => (element.kind === 'F_TRIG' ? 1 : 0)),
    counts: Int32Array.from(network.elements, (element) => (isTimer(element) ? -1 : 0)),
    doors: rig.doors.map((d) => ({ open: d.rest === 'open', moving: false, scans: 0, due: still, from: still })),
    held: network.inputs.map((input) => longHeld(model, input)),
    marks: [...marks],
    flags: new Set(),
    recent: marks.map(() => Infinity),
  };
}

/** Scans after which an input that was first seen changed may be seen to change again, whatever its least times. */
export function longHeld({ scan }: ScanModel, { minOn, minOff }: ProofInput): number {
  return Math.max(0, Math.ceil((Math.max(minOn, minOff) + 1) / scan.hi) - 2);
}

/**
 * Whether an input may be seen to change at the next scan. Seen on at n scans, it was on for less than n + 1 scan times: it
 * came just after the scan before the first of them, and went just before the scan after the last.
 */
export function mayChange({ scan }: ScanModel, least: number, held: number): boolean {
  return (held + 2) * scan.hi - 1 >= least;
}
