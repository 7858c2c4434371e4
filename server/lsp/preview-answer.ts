/** What the preview draws of a document, or why it cannot. */
import { isTextError } from '../core/document/problems';
import { overrideNote } from '../core/document/overrides';
import type { PreviewModel, ProofMark } from '../core/diagram/preview-model';
import { previewWork } from '../core/diagram/preview-model';
import type { TimingModel } from '../core/diagram/timing/model';
import type { Problem } from '../core/model/problem';
import { caution } from '../core/report/caution';
import type { Banner, PreviewAnswer } from '../protocol/preview';
import type { Proofs } from './proofs';
import type { Work } from '../core/work/work';
import type { Opened } from './workspace';
import { say } from '../core/words/say';

/** In steps of one picture. @param stores whether the curves of the store panel are wanted */
export function* previewAnswer(
  { document, text }: Opened,
  proofs: Proofs,
  stores: 'shown' | 'hidden',
): Work<PreviewAnswer> {
  const { version } = document;
  const problems = document.textProblems();
  const error = problems.find(isTextError);
  const broken = document.parsed().problems.length > 0 || error !== undefined;
  if (broken) return { version, rigs: null, banner: bannerOf(problems, error, (at) => text.positionAt(at).line + 1) };
  if (document.resolved().rigs.length === 0)
    return { version, rigs: [], banner: remark(say`There is no rig in this file.`) };
  const note = overrideNote(document.resolved());
  const rigs: PreviewModel[] = [];
  for (const facts of document.analysed()) {
    const model = yield* previewWork(facts, { caution: caution(), stores });
    rigs.push(withProof(model, proofs.pictures(document, facts.rig.name), proofs.mark(document, facts.rig.name)));
  }
  return {
    version,
    rigs,
    banner: note === '' ? null : remark(note),
  };
}

/** Counter-examples stand after the strokes; what chambers hold in them is not computed. */
function withProof(model: PreviewModel, found: readonly TimingModel[], proof: ProofMark | null): PreviewModel {
  return {
    ...model,
    proof,
    timing: [...model.timing, ...found],
    contents: [...model.contents, ...found.map(() => [])],
    flows: [...model.flows, ...found.map(() => null)],
  };
}

function bannerOf(
  problems: readonly Problem[],
  error: Problem | undefined,
  lineOf: (offset: number) => number,
): Banner {
  const first = error ?? problems.find((p) => p.severity === 'error');
  if (!first) return { severity: 'error', message: say`The text has errors.`, line: null, source: null };
  return { severity: 'error', message: first.message, line: lineOf(first.at.start), source: first.at };
}

function remark(message: string): Banner {
  return { severity: 'information', message, line: null, source: null };
}
