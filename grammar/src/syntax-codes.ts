/** The codes of mistakes in form, with what each means; the reference and the table of checks read this. Imports nothing. */

/** One code: `title` is a short name for lists, `explanation` what it means and what to do about it. */
export interface SyntaxCode {
  readonly code: string;
  readonly title: string;
  readonly explanation: string;
}

export const SYNTAX_CODES = [
  {
    code: 'syntax/expected',
    title: 'Something is missing or out of place',
    explanation:
      'The statement is not complete, or something stands where it cannot. The message says what was expected and where.',
  },
  {
    code: 'syntax/unknown-statement',
    title: 'Not a statement',
    explanation:
      'A line starts with a word that is not a statement of the language. Where a statement has nearly that name, it is offered.',
  },
  {
    code: 'syntax/misplaced-statement',
    title: 'Statement in the wrong place',
    explanation: 'The statement exists, but not here: most statements stand inside a rig, `rig` and `import` outside.',
  },
  {
    code: 'syntax/unknown-property',
    title: 'Not a property of this statement',
    explanation: 'A word in braces is not a property of the statement it stands in. The nearest match is offered.',
  },
  {
    code: 'syntax/name',
    title: 'Not usable as a name',
    explanation: 'The words and, or, xor, not, on, off and in can never be names.',
  },
  {
    code: 'syntax/unclosed',
    title: 'Opened but not closed',
    explanation: 'A brace, parenthesis or string is opened and never closed; the message stands where it was opened.',
  },
  {
    code: 'syntax/unopened',
    title: 'Closed but not opened',
    explanation: 'A closing brace or parenthesis has no opening one before it.',
  },
  {
    code: 'syntax/number',
    title: 'Number in a form that is not supported',
    explanation:
      'Numbers are plain decimals with a point: 1000, 0.5, 2.75. No separators between digits, no exponent, no comma.',
  },
  {
    code: 'syntax/operator',
    title: 'Operator in another spelling',
    explanation: 'The operator is written differently here, for instance >= for ≥, <> for !=, +- for ±/, and for &&.',
  },
  {
    code: 'syntax/character',
    title: 'Character without meaning',
    explanation: 'A character has no meaning outside strings and comments.',
  },
  {
    code: 'syntax/string',
    title: 'Unknown escape in a string',
    explanation: 'In strings only \\" and \\\\ are escapes; write two backslashes for one.',
  },
  {
    code: 'syntax/too-deep',
    title: 'Too deep or too long',
    explanation:
      'An expression has more nested parentheses or more operators than is supported; split it into signals or lets.',
  },
  {
    code: 'syntax/too-many',
    title: 'Too many mistakes',
    explanation: 'Only the first 200 mistakes of a file are listed.',
  },
] as const satisfies readonly SyntaxCode[];

/** A code of `SYNTAX_CODES`. */
export type SyntaxCodeName = (typeof SYNTAX_CODES)[number]['code'];
