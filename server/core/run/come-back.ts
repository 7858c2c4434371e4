/** Whether a followed run has come back to where it was: what comes after is then what came after that. */
import type { Contents } from '../flow/contents';
import type { StrokePattern } from '../flow/pattern';
import type { Mark } from './record';

/** Contents that agree to this part, the sensors and the pattern being the same. */
const SAME = 1e-6;

/** A change of the sensors at the end of a stroke: what they showed when the control network was asked before, and what they show now. */
export interface SensorChange {
  readonly pattern: StrokePattern;
  readonly before: readonly boolean[];
  readonly sensors: readonly boolean[];
}

interface Seen {
  readonly mark: Mark;
  readonly state: readonly number[];
}

export class ComeBack {
  private readonly seen = new Map<StrokePattern, Map<string, Seen>>();

  /** The sums when the same change last found the same contents, else null; remembers this one. `mark`: the sums now. */
  since({ pattern, before, sensors }: SensorChange, { mass, temperature }: Contents, mark: Mark): Mark | null {
    const state = [...mass, ...temperature];
    const key = `${bits(before)} ${bits(sensors)}`;
    const ofPattern = this.seen.get(pattern) ?? new Map<string, Seen>();
    this.seen.set(pattern, ofPattern);
    const was = ofPattern.get(key);
    if (was && state.every((x, k) => Math.abs(x - was.state[k]!) <= SAME * Math.abs(x))) return was.mark;
    ofPattern.set(key, { mark, state });
    return null;
  }
}

const bits = (sensors: readonly boolean[]): string => sensors.map(Number).join('');
