/** Where fitted values go in the text: into the property that states them, or as a new property of their statement. */
import type { Tree } from '../../../grammar/src/ast';
import {
  hasProperties,
  propertyNamed,
  setProperties,
  statementAt,
  type SpanEdit,
  type Stated,
} from '../../../grammar/src/rewrite';
import type { Source, TextEdit } from '../model/problem';
import type { FitReport, FittedProperty } from './fit';

/** Text and tree of a file by URI, null where it is not known. */
export type ReadFile = (uri: string) => { readonly text: string; readonly tree: Tree } | null;

/**
 * The edits that write all fitted values. A door whose `travel` is stated and whose times were both fitted keeps one `travel` where
 * they are equal. Values given as arguments of a placed part are changed where they are written.
 */
export function fittedEdits(report: FitReport, readFile: ReadFile, tolerances = false): TextEdit[] {
  const groups = new Map<string, FittedProperty[]>();
  for (const found of report.properties) {
    const property = tolerances ? withTolerance(found) : found;
    const key = `${property.of} ${property.index}`;
    groups.set(key, [...(groups.get(key) ?? []), property]);
  }
  const edits = [...groups.values()].flatMap((own) => editsOfItem(own, readFile));
  // What the text says already is not written again.
  return edits.filter(({ at, text }) => readFile(at.uri)?.text.slice(at.start, at.end) !== text);
}

/** Half of the interval as a tolerance behind the value. */
const withTolerance = (p: FittedProperty): FittedProperty => ({ ...p, literal: `${p.literal} +- ${p.margin}` });

function editsOfItem(own: readonly FittedProperty[], readFile: ReadFile): TextEdit[] {
  // A time of the control stands where a block or the controller states it.
  if (own[0]!.of === 'control') return own.flatMap(({ at, literal }) => (at ? [{ at, text: literal }] : []));
  const { whole } = own[0]!;
  const file = readFile(whole.uri);
  const statement = file && statementAt(file.tree, whole);
  if (!file || !hasProperties(statement)) return [];
  const here = ({ span, text }: SpanEdit): TextEdit => ({ at: { uri: whole.uri, ...span }, text });
  const travel = propertyNamed(statement, 'travel');
  const opens = own.find((p) => p.property === 'opens_in' && !propertyNamed(statement, 'opens_in'));
  const closes = own.find((p) => p.property === 'closes_in' && !propertyNamed(statement, 'closes_in'));
  const joined = travel && opens && closes ? [opens, closes] : [];
  const stated = own
    .filter((p) => !joined.includes(p))
    .map((p) => ({ p, argument: propertyNamed(statement, p.property) !== undefined && !isWithin(p.at, whole) }));
  const edits = stated.flatMap(({ p, argument }): TextEdit[] =>
    argument && p.at ? [{ at: p.at, text: p.literal }] : [],
  );
  const plain = stated.filter(({ argument }) => !argument).map(({ p }): Stated => [p.property, p.literal]);
  edits.push(...(setProperties(file.text, statement, plain) ?? []).map(here));
  if (travel && opens && closes) {
    const text =
      opens.literal === closes.literal
        ? `travel ${opens.literal}`
        : `opens_in ${opens.literal}  closes_in ${closes.literal}`;
    edits.push(here({ span: travel.span, text }));
  }
  return edits;
}

/** Whether the literal stands in the statement itself; elsewhere it is an argument of the place of a part. */
function isWithin(at: Source | null, whole: Source): boolean {
  return at !== null && at.uri === whole.uri && at.start >= whole.start && at.end <= whole.end;
}
