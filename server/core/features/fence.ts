/**
 * Drawing of a fenced `rig` block of a Markdown text, as a pure function of its text: what the Markdown preview shows.
 */
import { createDocument, type RigDocument } from '../document/document';
import { timingModel, type TimingModel } from '../diagram/timing/model';
import { renderTimingSvg } from '../diagram/timing/svg';
import type { Rig } from '../model/rig';
import { analyseRig } from '../run/analyse';
import type { RigFacts } from '../run/facts';
import { looseTimes } from '../timing/tolerance';

/*
 * A preview draws on the thread of all extensions, so that a block may cost about 200 ms. Counted are changes, not time: the same
 * text gives the same picture everywhere. A stroke of a usual rig has fewer than a hundred.
 */

/** Characters of a block; a longer one is a file, not an example. */
const LONGEST = 20_000;
/** Doors and elements of the control, all rigs of a block together. */
const MOST_PARTS = 250;
/** Changes looked at in all runs of a block; shared by its rigs and their inputs, as each input is turned once. */
const MOST_CHANGES = 2_500;
/** Below this many changes a run, a usual rig could not be drawn either. */
const FEWEST_EACH = 120;
/** Changes of all strokes, times the times with a tolerance, up to which earliest and latest moments are drawn. */
const MOST_FOR_RANGES = 500;

const TOO_MUCH =
  '<figcaption>Not drawn: this rig takes longer than a preview may wait. Save it as a .rig file to see its diagram.</figcaption>';

/**
 * The timing diagram of each rig of a block as SVG, in colours that read on any ground; null where the block is a fragment
 * (no rig, or text with mistakes); one sentence (HTML) where drawing would take too long. Blocks cannot import: a Markdown preview
 * has no files. `idPrefix` keeps pictures of one page apart.
 */
export function drawFence(text: string, idPrefix: string): string | null {
  if (text.length > LONGEST) return TOO_MUCH;
  const document = createDocument({ uri: 'fence:rig', version: 1, text }, () => undefined);
  if (!isSound(document)) return null;
  const { rigs } = document.resolved();
  if (rigs.length === 0) return null;
  const models = modelsWithin(rigs);
  if (models === null) return TOO_MUCH;
  return models
    .map((model, i) => renderTimingSvg(model, { look: 'theme', width: 860, idPrefix: `${idPrefix}${i}-` }))
    .join('\n');
}

/** The first picture of each rig; null where that takes more than a block may. */
function modelsWithin(rigs: readonly Rig[]): TimingModel[] | null {
  const parts = rigs.reduce((sum, rig) => sum + rig.doors.length + rig.network.elements.length, 0);
  const runs = rigs.reduce((sum, rig) => sum + 1 + rig.sensors.length + rig.switches.length, 0);
  const budget = Math.floor(MOST_CHANGES / runs);
  if (parts > MOST_PARTS || budget < FEWEST_EACH) return null;
  const models: TimingModel[] = [];
  for (const rig of rigs) {
    const facts = analyseRig(rig, { budget });
    if (isCutShort(facts)) return null;
    const stroke = facts.timing.strokes[0] ?? null;
    models.push(affordsRanges(facts) ? timingModel(facts, stroke) : timingModel(facts, stroke, new Map()));
  }
  return models;
}

function isCutShort({ timing }: RigFacts): boolean {
  return [timing.atRest, ...timing.strokes].some(({ trace }) => trace.stopped?.reason === 'budget');
}

/** Earliest and latest moments take some runs of all strokes for each time with a tolerance. */
function affordsRanges({ rig, timing }: RigFacts): boolean {
  const changes = timing.strokes.reduce((sum, { trace }) => sum + trace.edges.length, timing.atRest.trace.edges.length);
  return changes * looseTimes(rig).length <= MOST_FOR_RANGES;
}

function isSound(document: RigDocument): boolean {
  return document.parsed().problems.length === 0 && document.resolved().problems.every((p) => p.severity !== 'error');
}
