/** Everything the preview draws for one rig, as plain data. */
import type { Source } from '../model/problem';
import type { Choosable } from '../model/rig';
import type { RigFacts } from '../run/facts';
import { sectionModel, type Contents, type SectionModel } from './section/model';
import { storeModels, whyNoStores, type StoreModel } from './store/model';
import { plotModels, type PlotModel } from './store/plot-model';
import { strokeStores } from './store/stroke-curves';
import { scenarioFlows, strokeFlows, type SectionFlow } from './section/stroke-flows';
import { scenarioContents, strokeContents } from './section/stroke-contents';
import { timingModelsWork, type TimingModel } from './timing/model';
import { wiringModel, type WiringModel } from './wiring/model';
import { finish, patiently, type Work } from '../work/work';

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
  /** What flows over the time of each timing model, same order; null where it is not known, or was not asked for as `stores`. */
  readonly flows: readonly (SectionFlow | null)[];
  /** Curves: the rig by itself, then its scenarios, then one repeating stroke of each trigger. Null where they were not asked for (they take the flow engine a while). */
  readonly stores: readonly StoreModel[] | null;
  /** Further pictures of each stroke; null as `stores`. */
  readonly plots: readonly PlotModel[] | null;
  /** Why there are no curves, and what would give some; null where there are, or where they were not asked for. */
  readonly storesWhy: string | null;
  /** Constants that may be chosen within a range. */
  readonly sliders: readonly Slider[];
  /** What a proof of exactly this text found; null where none was asked for. */
  readonly proof: ProofMark | null;
  /** The caution that is shown once for a rig with pressure; null for one without. */
  readonly caution: string | null;
}

/** A proof as a lasting mark at its rig. */
export interface ProofMark {
  /** `Proved for this text: 4 of 5, 1 refuted` */
  readonly text: string;
  readonly state: 'proved' | 'refuted' | 'undecided';
  readonly examples: readonly ExampleSteps[];
}

/** A counter-example as steps to be played on its picture. */
export interface ExampleSteps {
  /** Id of the timing model that draws it. */
  readonly picture: string;
  /** What it refutes. */
  readonly property: string;
  /** Where the finding about it stands. */
  readonly at: Source;
  /** What is done and when, in order; the last step is the moment at which the property breaks. */
  readonly steps: readonly { readonly t: number; readonly text: string }[];
}

export interface Slider {
  readonly name: string;
  readonly dimension: string;
  /** µs for times, SI units otherwise; `low` ≤ `value` ≤ `high`. */
  readonly value: number;
  readonly low: number;
  readonly high: number;
  /** A step for people: about a hundredth of the range. */
  readonly step: number;
  readonly source: Source;
}

export interface PreviewOptions {
  /** Wording of the caution, for rigs that could be built to hold pressure. */
  readonly caution: string;
  /** Further pictures after those of the rig: a counter-example, for one. */
  readonly further?: readonly TimingModel[];
  /** `shown`: the page shows curves or a scenario, so compute what contents do. */
  readonly stores?: 'shown' | 'hidden';
}

/** A rig whose medium is a gas or a liquid, or whose chambers state a pressure, could be built and hurt somebody. */
function holdsPressure({ rig }: RigFacts): boolean {
  if (rig.medium && rig.medium.phase !== 'packed') return true;
  return rig.chambers.some((c) => c.pressure !== null || c.limit?.kind === 'pressure');
}

/** The pictures of one rig. */
export const previewModel = (facts: RigFacts, options: PreviewOptions): PreviewModel =>
  finish(previewWork(facts, options));

/** The same in steps of one picture. */
export function* previewWork(facts: RigFacts, options: PreviewOptions): Work<PreviewModel> {
  const { rig } = facts;
  const scenarios = options.stores === 'shown' ? 'followed' : 'pending';
  const timing = [...(yield* timingModelsWork(facts, scenarios)), ...(options.further ?? [])];
  const isShown = options.stores === 'shown';
  const section = yield* step(() => sectionModel(rig));
  const wiring = yield* step(() => wiringModel(rig));
  const contents: Contents[][] = [];
  const flows: (SectionFlow | null)[] = [];
  for (const [k, picture] of timing.entries()) {
    contents.push(yield* step(() => contentsOf(facts, picture, k)));
    flows.push(yield* step(() => (isShown ? flowsOf(facts, picture, k) : null)));
  }
  const stores = isShown
    ? [...(yield* step(() => storeModels(facts))), ...(yield* step(() => strokeStores(facts)))]
    : null;
  return {
    id: rig.name,
    title: rig.title || rig.name,
    source: rig.whole,
    timing,
    section,
    wiring,
    contents,
    flows,
    stores,
    plots: isShown ? yield* step(() => plotModels(facts)) : null,
    storesWhy: stores?.length === 0 ? whyNoStores(facts) : null,
    sliders: rig.choosable.flatMap(sliderOf),
    proof: null,
    caution: holdsPressure(facts) ? options.caution : null,
  };
}

/** One picture, whatever of what it reads has to be computed before; then others may go first. */
function* step<T>(draw: () => T): Work<T> {
  const drawn = yield* patiently(draw);
  yield;
  return drawn;
}

function flowsOf(facts: RigFacts, { scenario, end }: TimingModel, index: number): SectionFlow | null {
  if (scenario !== undefined) return scenarioFlows(facts.rig, scenario, end);
  return facts.timing.strokes[index] ? strokeFlows(facts, index) : null;
}

function contentsOf(facts: RigFacts, { scenario, end, isPending }: TimingModel, index: number): Contents[] {
  if (isPending) return [];
  if (scenario !== undefined) return scenarioContents(facts.rig, scenario, end);
  const stroke = facts.timing.strokes[index];
  return stroke ? strokeContents(facts, stroke) : [];
}

/** None where the value comes from outside: moving it would have no effect. */
function sliderOf({ name, dimension, value, low, high, at, overridden }: Choosable): Slider[] {
  const width = high.nominal - low.nominal;
  if (overridden || width <= 0) return [];
  const power = 10 ** Math.floor(Math.log10(width / 100));
  const digit = width / 100 / power;
  const step = power * (digit < 1.5 ? 1 : digit < 3.5 ? 2 : digit < 7.5 ? 5 : 10);
  return [
    {
      name,
      dimension,
      value: value.nominal,
      low: low.nominal,
      high: high.nominal,
      step: dimension === 'time' ? Math.max(1, Math.round(step)) : step,
      source: at,
    },
  ];
}
