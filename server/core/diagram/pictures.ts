/** The pictures of a rig as files: the timing of a stroke, the section, the store's curves, the wiring. */
import type { RigFacts } from '../run/facts';
import type { StrokeFacts } from '../timing/facts';
import { figureSvg } from './kit/figure-svg';
import type { Look } from './kit/palette';
import { sectionModel } from './section/model';
import { strokeContents } from './section/stroke-contents';
import { drawSection } from './section/svg';
import { storeModels } from './store/model';
import { renderStoreSvg } from './store/picture';
import { timingModel } from './timing/model';
import { renderTimingSvg } from './timing/svg';
import { arrangeWiring } from './wiring/layout';
import { wiringModel } from './wiring/model';
import { drawWiring } from './wiring/svg';

export const PANELS = ['timing', 'section', 'store', 'wiring'] as const;
export type Panel = (typeof PANELS)[number];

export interface PictureOptions {
  readonly look: Look;
  /** px; the timing and the store take any width, the wiring runs downwards where it is wider. */
  readonly width: number;
  /** The stroke shown; null for the rig at rest. */
  readonly stroke: StrokeFacts | null;
  /** Moment of section and wiring, microseconds from the trigger's edge. */
  readonly time?: number;
}

/** One picture as SVG text; null where the rig has none of this kind (no medium, or nothing that moves it). */
export function pictureOf(facts: RigFacts, panel: Panel, options: PictureOptions): string | null {
  const { look, width, stroke, time = 0 } = options;
  const title = `${facts.rig.title || facts.rig.name}: ${panel}`;
  const timing = () => timingModel(facts, stroke);
  switch (panel) {
    case 'timing':
      return renderTimingSvg(timing(), { look, width });
    case 'section': {
      if (facts.rig.stacks.length === 0) return null;
      const contents = stroke ? strokeContents(facts, stroke) : [];
      const view = { look, timing: timing(), contents, time, purpose: 'file' as const };
      return figureSvg(drawSection(sectionModel(facts.rig), view), look, title);
    }
    case 'wiring':
      return figureSvg(
        drawWiring(arrangeWiring(wiringModel(facts.rig), width), { look, timing: timing(), time, purpose: 'file' }),
        look,
        title,
      );
    case 'store': {
      const [model] = storeModels(facts);
      return model ? renderStoreSvg(model, { look, width }) : null;
    }
  }
}
