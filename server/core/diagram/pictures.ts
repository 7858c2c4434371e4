/** The pictures of a rig as files: the timing of a stroke, the section, the store's curves, the wiring. */
import type { RigFacts } from '../run/facts';
import type { Scenario } from '../model/rig';
import type { StrokeFacts } from '../timing/facts';
import { figureSvg } from './kit/figure-svg';
import type { Look } from './kit/palette';
import { sectionModel } from './section/model';
import { scenarioContents, strokeContents } from './section/stroke-contents';
import { scenarioFlows, strokeFlows } from './section/stroke-flows';
import { drawSection } from './section/svg';
import { storeModels } from './store/model';
import { gainPlot, volumePlot } from './store/plot-model';
import { strokeStore } from './store/stroke-curves';
import { renderPlotSvg, renderStoreSvg } from './store/picture';
import { scenarioModel, timingModel } from './timing/model';
import { renderTimingSvg } from './timing/svg';
import { arrangeWiring } from './wiring/layout';
import { wiringModel } from './wiring/model';
import { drawWiring } from './wiring/svg';
import { scenarioText } from '../timing/words';
import { say } from '../words/say';

export const PANELS = ['timing', 'section', 'store', 'wiring'] as const;
export type Panel = (typeof PANELS)[number];

/** A run over strokes and time; one stroke: pressures over time, against volume; mass per stroke against what the store holds. */
export const CURVES = ['run', 'stroke', 'volume', 'gain'] as const;
export type Curves = (typeof CURVES)[number];

export interface PictureOptions {
  readonly look: Look;
  /** px; the timing and the store take any width, the wiring runs downwards where it is wider. */
  readonly width: number;
  /** The stroke shown; null for the rig at rest. */
  readonly stroke: StrokeFacts | null;
  /** Shown instead of the stroke. */
  readonly scenario?: Scenario | null;
  /** What the store shows: a run over time by default. */
  readonly curves?: Curves;
  /** Moment of section and wiring, microseconds from the trigger's edge or the start of the scenario. */
  readonly time?: number;
}

/** What a panel is called in the name of its picture. */
function panelName(panel: Panel): string {
  if (panel === 'timing') return say`timing`;
  if (panel === 'section') return say`section`;
  return panel === 'store' ? say`store` : say`wiring`;
}

/** One picture as SVG text; null where the rig has none of this kind (no medium, nothing that moves it, a scenario without a duration). */
export function pictureOf(facts: RigFacts, panel: Panel, options: PictureOptions): string | null {
  const { rig } = facts;
  const { look, width, stroke, scenario = null, time = 0 } = options;
  const title = `${rig.title || rig.name}: ${panelName(panel)}`;
  if (panel === 'store') {
    if (options.curves && options.curves !== 'run') return strokeCurves(facts, options.curves, options);
    const models = storeModels(facts);
    const model = scenario ? models.find((m) => m.name === scenarioText(scenario)) : models[0];
    return model ? renderStoreSvg(model, { look, width }) : null;
  }
  const timing = scenario ? scenarioModel(facts, scenario) : timingModel(facts, stroke);
  if (!timing) return null;
  if (panel === 'timing') return renderTimingSvg(timing, { look, width });
  const view = { look, timing, time, purpose: 'file' as const };
  if (panel === 'wiring') return figureSvg(drawWiring(arrangeWiring(wiringModel(rig), width), view), look, title);
  if (rig.stacks.length === 0) return null;
  const contents = scenario
    ? scenarioContents(rig, rig.scenarios.indexOf(scenario), timing.end)
    : stroke
      ? strokeContents(facts, stroke)
      : [];
  const flow = scenario
    ? scenarioFlows(rig, rig.scenarios.indexOf(scenario), timing.end)
    : stroke
      ? strokeFlows(facts, facts.timing.strokes.indexOf(stroke))
      : null;
  return figureSvg(drawSection(sectionModel(rig), { ...view, contents, flow }), look, title);
}

/** Null where the rig has no flow, or no stroke; a picture that has nothing to show says why. */
function strokeCurves(facts: RigFacts, curves: Curves, { look, width, stroke }: PictureOptions): string | null {
  const index = stroke ? facts.timing.strokes.indexOf(stroke) : -1;
  if (index < 0 || !facts.flow?.medium) return null;
  const store = curves === 'stroke' ? strokeStore(facts, index) : null;
  if (store) return renderStoreSvg(store, { look, width });
  const plot = curves === 'gain' ? gainPlot(facts, index) : volumePlot(facts, index);
  return renderPlotSvg(plot, { look, width });
}
