/** Everything the preview draws for one rig, as plain data. */
import type { Source } from '../model/problem';
import type { RigFacts } from '../run/facts';
import { sectionModel, type Contents, type SectionModel } from './section-model';
import type { StoreModel } from './store-model';
import type { EdgeRanges } from './timing-lanes';
import { timingModels, type TimingModel } from './timing-model';
import { wiringModel, type WiringModel } from './wiring-model';

export interface PreviewModel {
  /** The rig's name, unique in its file. */
  readonly id: string;
  readonly title: string;
  /** The whole rig statement: the text cursor inside it selects this rig. */
  readonly source: Source;
  /** One per trigger (and per scenario that is drawn); at least one. */
  readonly timing: readonly TimingModel[];
  readonly section: SectionModel;
  readonly wiring: WiringModel;
  /** What chambers hold over the time of each timing model, same order; empty lists where it is not known. */
  readonly contents: readonly (readonly Contents[])[];
  readonly store: StoreModel | null;
  /** The caution that is shown once for a rig with pressure; null for one without. */
  readonly caution: string | null;
}

export interface PreviewOptions {
  /** Wording of the caution, for rigs that could be built to hold pressure. */
  readonly caution: string;
  /** Curves, where the flow engine has worked them out. */
  readonly store?: StoreModel | null;
  readonly ranges?: EdgeRanges;
  /** What chambers hold over the time of a timing model. */
  readonly contents?: (timing: TimingModel) => readonly Contents[];
}

/** A rig whose medium is a gas or a liquid, or whose chambers state a pressure, could be built and hurt somebody. */
function holdsPressure({ rig }: RigFacts): boolean {
  if (rig.medium && rig.medium.phase !== 'packed') return true;
  return rig.chambers.some((c) => c.pressure !== null || c.limit?.kind === 'pressure');
}

/** The pictures of one rig. */
export function previewModel(facts: RigFacts, options: PreviewOptions): PreviewModel {
  const { rig } = facts;
  const timing = timingModels(facts, options.ranges);
  return {
    id: rig.name,
    title: rig.title || rig.name,
    source: rig.whole,
    timing,
    section: sectionModel(rig),
    wiring: wiringModel(rig),
    contents: timing.map((t) => options.contents?.(t) ?? []),
    store: options.store ?? null,
    caution: holdsPressure(facts) ? options.caution : null,
  };
}
