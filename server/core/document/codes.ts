/** Every code that a problem may carry, with what it means: for `caisson explain`, the reference and other listings. */
import { SYNTAX_CODES } from '../../../grammar/src/syntax-codes';
import type { CodeInfo } from '../checks/check';
import { ALL_CODES as CHECKED_CODES } from '../checks/registry';

/** Codes that arise where the phases are joined. */
const DOCUMENT_CODES: readonly CodeInfo[] = [
  {
    code: 'name/import-errors',
    title: 'Errors in an imported file',
    severity: 'error',
    explanation:
      'An imported file has errors that concern this one. They are listed as related places; open the file to repair them.',
  },
  {
    code: 'value/override',
    title: 'A value given from outside cannot be read',
    severity: 'error',
    explanation:
      'A constant was given another value on the command line or in the settings, and that text is not an expression. The constant keeps its own value.',
  },
  {
    code: 'syntax/more',
    title: 'More problems than are shown',
    severity: 'information',
    explanation:
      'The list of a file is cut after a number of problems (the gravest are kept), so that it stays readable.',
  },
];

/** All codes, sorted; each code once. */
export const ALL_CODES: readonly CodeInfo[] = sortedOnce([
  ...SYNTAX_CODES.map((c): CodeInfo => ({ ...c, severity: 'error' })),
  ...CHECKED_CODES,
  ...DOCUMENT_CODES,
]);

function sortedOnce(codes: readonly CodeInfo[]): CodeInfo[] {
  const byCode = new Map(codes.map((c) => [c.code, c]));
  return [...byCode.values()].sort((a, b) => (a.code < b.code ? -1 : 1));
}
