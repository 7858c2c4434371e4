/** The findings of a document as far as they are about one rig: those that stand, and those that comments allow. */
import type { Problem } from '../model/problem';
import type { Rig } from '../model/rig';
import { ofRig, type AllowedProblem } from './allowances';
import type { RigDocument } from './document';

export const allowedIn = (document: RigDocument, rig: Rig): AllowedProblem[] =>
  ofRig(document.checked().allowed, rig, document.resolved().rigs);

/** Errors and warnings of the document's own text, as the check lists them. */
export const findingsIn = (document: RigDocument, rig: Rig): Problem[] =>
  ofRig(document.problems(), rig, document.resolved().rigs).filter(
    ({ severity, at }) => at.uri === document.uri && (severity === 'error' || severity === 'warning'),
  );
