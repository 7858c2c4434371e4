/** What becomes of a fed chamber, in words: one wording for tables, hovers and the check. */
import type { ChamberState, KeepUp, Rise } from '../flow/facts';
import { packedText } from '../flow/states';
import type { Rig, Threshold } from '../model/rig';
import { formatSi, formatTime } from '../units/units';
import { say } from '../words/say';

/** The figure by which a medium is judged. */
export function judgedBy(state: ChamberState): string {
  const { level, pressure } = state;
  if (level !== null) return formatSi(level, 'length');
  return pressure === null ? packedText(state) : formatSi(pressure, 'pressure');
}

/** What the followed run shows of the chamber, as a clause that begins with it; `null` where it was not followed. */
export function outcomeText(rig: Rig, keepUp: KeepUp): string | null {
  const { because, settlesAt, highest, keeps, rise } = keepUp;
  const { limit } = rig.chambers[keepUp.chamber]!;
  const most = limit ? formatSi(limit.value.nominal, limit.kind) : '';
  if (settlesAt && because?.kind === 'late')
    return say`it passes its limit of ${most}, and reaches at most ${judgedBy(settlesAt)}`;
  if (settlesAt) return say`it reaches at most ${judgedBy(settlesAt)}`;
  if (!highest) return null;
  const reached = judgedBy(highest);
  if (keeps === null)
    return rise
      ? say`it reaches ${reached} by its end and is still rising, ${perHour(rise)}`
      : say`it reaches ${reached} by its end and is still rising, ever more slowly`;
  if (keeps) return say`it reaches ${reached} by its end, where strokes take what its feed brings`;
  if (because?.kind === 'stopped')
    return say`strokes stop while its feed goes on, and it reaches ${reached} by its end`;
  const at = limit && highest[limit.kind];
  if (limit && at && at > limit.value.nominal)
    return say`it passes its limit of ${most} and reaches ${reached} by its end`;
  const rising = rise
    ? say`it reaches ${reached} by its end and is still rising, ${perHour(rise)}`
    : say`it reaches ${reached} by its end and is still rising`;
  return `${rising}${staysText(rig, keepUp)}${limitText(rig, rise)}`;
}

/** Strokes take enough, and it stays further on: where and why; empty where that is not so. */
function staysText(rig: Rig, { because }: KeepUp): string {
  if (because?.kind !== 'drawn-less' && because?.kind !== 'not-drawn') return '';
  const { name } = rig.chambers[because.chamber]!;
  return because.kind === 'not-drawn'
    ? say`. Nothing is drawn from ${name}, and it stays there`
    : say`. More flows into ${name} than is drawn from it`;
}

/** When a limit is passed if all goes on as in the second half of the run. */
function limitText(rig: Rig, rise: Rise | null): string {
  if (!rise?.limit) return '';
  const { name, limit } = rig.chambers[rise.limit.chamber]!;
  const after = formatTime(Math.round(rise.limit.at / 60) * 60e6);
  return say`; ${name} passes its limit of ${formatSi(limit!.value.nominal, limit!.kind)} after about ${after}`;
}

/** `by 1.2 bar an hour`, as the medium is judged. */
export function perHour({ from, to, seconds }: Rise): string {
  const an = (before: number, after: number): number => ((after - before) / seconds) * 3600;
  if (to.level !== null) return say`by ${formatSi(an(from.level!, to.level), 'length')} an hour`;
  if (to.pressure === null && to.byMass) return say`by ${formatSi(an(from.mass, to.mass), 'mass')} an hour`;
  if (to.pressure === null) return say`by ${formatSi(an(from.density, to.density), 'density')} an hour`;
  return say`by ${formatSi(an(from.pressure!, to.pressure), 'pressure')} an hour`;
}

/** `only below 1.8 bar`, as it is written. */
const conditionText = ({ side, sensed, value }: Threshold): string =>
  say`only ${side} ${formatSi(value.nominal, sensed === 'level' ? 'length' : sensed)}`;

const doNot = (): string => say`they DO NOT keep up`;
const wouldKeepUp = (): string => say`they would keep up if as much were drawn`;
const VERDICTS: Readonly<Record<NonNullable<KeepUp['because']>['kind'], () => string>> = {
  stopped: doNot,
  less: doNot,
  late: () => say`they take enough there, but come too late`,
  'drawn-less': wouldKeepUp,
  'not-drawn': wouldKeepUp,
};

/** Whether strokes keep up, in words: of what the two rates that stand beside it compare, and of what the followed run adds. */
export function keepUpVerdict(rig: Rig, { keeps, because, capacity, feed, heldBy }: KeepUp): string {
  if (keeps && heldBy.length > 0) {
    const holds = heldBy
      .map((k) => `${rig.lines[k]!.name} (${conditionText(rig.lines[k]!.only!)})`)
      .reduce((all, one) => say`${all} and ${one}`);
    return capacity < feed
      ? say`held there by the condition of ${holds}; strokes take less than it brings`
      : say`held there by the condition of ${holds}; strokes carry all of it while they run`;
  }
  if (keeps) return say`they keep up`;
  if (!because) return say`not decided`;
  if (because.kind === 'stopped' && capacity >= feed) return say`they take enough while they run`;
  return VERDICTS[because.kind]();
}
