/**
 * Presets and responses of a built control from the edges of its doors and signals. The event engine is run with the values found so far,
 * its edges are laid beside those of the log, and the values are moved by weighted linear least squares (Gauss and Newton): first over one
 * stroke, then over more and more, so that a time far from the stated one shifts no stroke beyond recognition.
 *
 * Moments of triggers and travels of doors are unknowns, too, with what the log says about them as their prior. A value that the edges do
 * not move apart from others is not given; what reading would determine it is found by adding each signal as a column and asking again.
 */
import type { RigFacts } from '../run/facts';
import { inverseOf } from './least-squares';
import type { RigLog } from './log';
import { chiSquareLimit, estimate, medianOf, type Estimate } from './statistics';
import { stimulusOf } from './stimulus';
import { controlTimes, dependenceOfEdge, type ControlTime } from './timing-model';
import { equations, OPEN, settled, type Pass, type Row, type State } from './timing-passes';
import { settingOf, windowsOf, type Setting } from './timing-setting';

export type TimingKind = 'presets' | 'response';

export interface FittedTime {
  readonly time: ControlTime;
  readonly estimate: Estimate | null;
  /** Where there is none: why, and what would determine it. */
  readonly why: string;
}

export interface TimingFit {
  readonly fitted: readonly FittedTime[];
  /** One sentence on how well the edges are met. */
  readonly verdict: string;
  readonly notes: readonly string[];
}

/** A time that the fit leaves with more than this part of `OPEN` is not determined. */
const DETERMINED = 0.03 * OPEN;
/** A time known to less than this part of itself is not reported. */
const POOR = 0.2;
/** Residuals beyond this multiple of their deviations (squared) mean that something else than what is fitted is not as the rig says. */
const FAR = 9;
/** More edges than this without a counterpart: the rig is not the one that was logged. */
const STRANGE = 1 / 3;

/** Null where nothing starts a stroke or the rig has nothing that was requested. */
export function fitTiming(facts: RigFacts, log: RigLog, kinds: readonly TimingKind[]): TimingFit | null {
  const stimulus = stimulusOf(facts.rig, facts.timing, log, null);
  if (!stimulus) return null;
  const all = controlTimes(facts.rig);
  const asked = all.times.flatMap(({ kind }, k) =>
    kinds.includes(kind === 'preset' ? 'presets' : 'response') ? [k] : [],
  );
  if (asked.length === 0) return null;
  const setting = settingOf(facts.rig, log, stimulus, all, asked);
  const state: State = {
    values: asked.map((k) => all.times[k]!.stated.nominal),
    moments: stimulus.operations.map((o) => o.t),
    offset: stimulus.given.size > 0 ? log.times[0]! : null,
  };
  let pass: Pass | null = null;
  for (const window of windowsOf(setting, facts)) pass = settled(setting, window, state);
  return pass ? reported(setting, state, pass) : null;
}

function reported(setting: Setting, state: State, pass: Pass): TimingFit {
  const { asked, all, rig } = setting;
  const { rows, pairs } = pass;
  const lone = pairs.filter((p) => !p.measured || !p.expected).length;
  const strange = lone > STRANGE * pairs.length;
  const { normal } = equations(setting, rows, state);
  const inverse = inverseOf(normal);
  const free = rows.length - asked.length;
  const square = rows.reduce((sum, r) => sum + Math.min((r.off / r.sigma) ** 2, 400), 0);
  const excess = free >= 6 ? square / free : 1;
  const isLoose = free >= 6 && excess > chiSquareLimit(free);
  const scan = rig.controller.style === 'scan' ? rig.controller.time.nominal : 0;
  const fitted = asked.map((k, i): FittedTime => {
    const time = all.times[k]!;
    if (strange) return { time, estimate: null, why: strangeWords(setting, lone, pairs.length) };
    if (free >= 6 && excess > FAR) return { time, estimate: null, why: farWords(setting, rows) };
    const spread = Math.sqrt(inverse?.[i]?.[i] ?? Infinity);
    const count = rows.filter((r) => r.on.counts.has(k)).length;
    if (!(spread < DETERMINED)) return { time, estimate: null, why: openWords(setting, state, pass, k, i, count) };
    const deviation = Math.hypot(spread * Math.sqrt(Math.max(1, excess)), scan / Math.sqrt(3));
    const value = state.values[i]!;
    if (deviation > POOR * value)
      return {
        time,
        estimate: null,
        why: `edges of this log show it to no better than ± ${shortTime(2 * deviation)}; readings in shorter steps would determine it`,
      };
    return { time, estimate: estimate(value, deviation, isLoose ? free : 1e6, count), why: '' };
  });
  return { fitted, verdict: verdictOf(rows, pairs.length, lone), notes: [] };
}

const shortTime = (us: number): string => `${Number((us / 1000).toPrecision(2))} ms`;

function strangeWords(setting: Setting, lone: number, of: number): string {
  const other = othersOf(setting);
  const both = other ? `; if the ${other} are not as stated either, fit both: --only presets,response` : '';
  return `${lone} of ${of} edges have no counterpart in the rig as written; compare and diagnose show where they part${both}`;
}

/** What is not fitted and taken as stated, where the rig has it. */
function othersOf({ asked, all }: Setting): 'presets' | 'responses' | null {
  const kinds = new Set(asked.map((k) => all.times[k]!.kind));
  if (all.times.every(({ kind }) => kinds.has(kind))) return null;
  return kinds.has('preset') ? 'responses' : 'presets';
}

function farWords(setting: Setting, rows: readonly Row[]): string {
  const missed = shortTime(medianOf(rows.map((r) => Math.abs(r.off))));
  const other = othersOf(setting);
  return other
    ? `with ${other} as stated the edges are missed by ${missed} and more; fit both: --only presets,response`
    : `the edges are missed by ${missed} and more whatever it is; compare and diagnose show where`;
}

function verdictOf(rows: readonly Row[], edges: number, lone: number): string {
  const rms = Math.sqrt(rows.reduce((s, r) => s + r.off ** 2, 0) / Math.max(1, rows.length));
  const rest = lone > 0 ? `; ${lone} have no counterpart` : '';
  return `The fit meets ${rows.length} of ${edges} edges of doors and signals to ${shortTime(rms)} (root mean square)${rest}.`;
}

/** Why a time is not determined, and the column that would determine it. */
function openWords(setting: Setting, state: State, pass: Pass, time: number, place: number, count: number): string {
  const { all, rig } = setting;
  if (count === 0 && all.times[time]!.kind === 'preset' && !ranOut(setting, pass, time))
    return 'it does not run out in this log; a longer log, or a stroke in which it does, would determine it';
  const nets = rig.network.nets.map((_, net) => net).filter((net) => !setting.log.states.some((s) => s.net === net));
  const single = nets.find((net) => isDetermined(setting, state, pass, place, [net]));
  const why = count === 0 ? 'no edge of this log depends on it' : 'the edges show it only in sums with other times';
  if (single !== undefined) return `${why}; a column of ${rig.network.nets[single]!.name} would determine it`;
  if (isDetermined(setting, state, pass, place, nets))
    return `${why}; columns of the signals and of the trigger would determine it`;
  return `${why}; it takes a log in which the other times differ`;
}

const ranOut = ({ all, rig }: Setting, { trace }: Pass, time: number): boolean =>
  trace.edges.some((e) => {
    const net = rig.network.nets[e.net]!;
    return e.preset > 0 && net.kind === 'element' && all.presets[net.index] === time;
  });

/** Whether it would be determined, were these nets logged as well. */
function isDetermined(
  setting: Setting,
  state: State,
  { rows, trace, measured }: Pass,
  place: number,
  nets: readonly number[],
): boolean {
  const { rig, all, log, stimulus } = setting;
  const sigma = log.step / Math.sqrt(12);
  const until = measured.log.times.at(-1)! - (state.offset ?? 0);
  const from = log.times[0]! - (state.offset ?? 0);
  const extra = trace.edges.flatMap((e, k): Row[] => {
    if (!nets.includes(e.net) || e.t < from || e.t > until) return [];
    const on = dependenceOfEdge(rig, trace, all, k);
    return !on.root && stimulus.given.size > 0 ? [] : [{ track: -1, opens: e.value, on, off: 0, sigma }];
  });
  if (extra.length === 0) return false;
  const inverse = inverseOf(equations(setting, rows, state, extra).normal);
  return Math.sqrt(inverse?.[place]?.[place] ?? Infinity) < DETERMINED;
}
