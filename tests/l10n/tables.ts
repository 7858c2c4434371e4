/** Texts that stand in tables before the language is known; they are translated as they are shown (`said`). */
import { FUNCTIONS, PROPERTIES, STATEMENTS } from '../../grammar/src/vocabulary';
import { ALL_CODES } from '../../server/core/document/codes';
import { ALLOWABLE } from '../../server/core/document/allowances';
import { METRICS } from '../../server/core/metrics/registry';
import { DIMENSION_NAMES } from '../../server/core/units/dimensions';
import { UNITS } from '../../server/core/units/table';
import { COUNTED } from '../../server/core/units/units';

const allowable = new Set(ALLOWABLE);

/** Each text of a table that the editor shows. Sources of units are citations; what a code means in full is shown where it is translated. */
export const TABLE_TEXTS: readonly string[] = [
  ...new Set([
    ...STATEMENTS.map((s) => s.doc),
    ...FUNCTIONS.map((f) => f.doc),
    ...Object.values(PROPERTIES).flatMap((specs) => specs.map((s) => s.doc)),
    ...UNITS.map((u) => u.doc),
    ...METRICS.map((m) => m.definition),
    ...ALL_CODES.filter((c) => allowable.has(c.code)).map((c) => c.title),
    ...['1 switch', '{0} switches'],
    ...COUNTED.flatMap((noun) => [`1 ${noun}`, `{0} ${noun}s`]),
    ...DIMENSION_NAMES.filter((d) => d !== 'none').map((d) => d.replace(/_/g, ' ')),
  ]),
].filter((text) => text !== '');
