/** How names and units are written, as sources of regular expressions; for the lexer and the generated colouring. */

/** One name part: a letter or `_`, then letters, marks, digits and `_`, in any script. Needs the `u` flag. */
export const NAME_PART = '[\\p{L}\\p{Nl}_][\\p{L}\\p{Nl}\\p{M}\\p{Nd}\\p{Pc}]*';

/** A name: parts joined by dots (`gate.upper`). Needs the `u` flag. */
export const NAME = `${NAME_PART}(?:\\.${NAME_PART})*`;

const UNIT_PART = '(?:°?[\\p{L}µ][\\p{L}\\p{N}_]*(?:\\^-?\\d+)?)';

/**
 * A unit directly after a number: `kg/m3`, `g/mol`, `%`, `°C`, `µs`. Superscripts, `^` and a middle dot are taken in so that
 * the unit table can answer with the right spelling. Needs the `u` flag.
 */
export const UNIT = `(?:%|‰|${UNIT_PART})(?:[/·]${UNIT_PART})*`;
