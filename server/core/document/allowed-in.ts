/** The findings that comments of a document allow, as far as they are about one rig. */
import type { Rig } from '../model/rig';
import { allowedOf, type AllowedProblem } from './allowances';
import type { RigDocument } from './document';

export const allowedIn = (document: RigDocument, rig: Rig): AllowedProblem[] =>
  allowedOf(document.checked().allowed, rig, document.resolved().rigs);
