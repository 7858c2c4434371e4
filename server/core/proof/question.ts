/**
 * What a verdict was given for, as one text: the rig as resolved and the property, without their places in the file, titles and comments. Equal
 * texts, equal question; whatever else of a rig changes (also what no proof looks at, a volume, say) makes another question.
 */
import type { Rig } from '../model/rig';
import type { Property } from './monitor';

/** Members that say where something stands or what it is for, not what it is. */
const LEFT_OUT: ReadonlySet<string> = new Set(['at', 'whole', 'doc', 'title']);

export function questionText(rig: Rig, property: Property): string {
  return JSON.stringify(plain({ rig, property }));
}

/** The value with maps and sets as lists, members in order of their names, and no places. */
function plain(value: unknown): unknown {
  // JSON would write null for an infinity, and two questions would become one.
  if (typeof value === 'number' && !Number.isFinite(value)) return String(value);
  if (value === null || typeof value !== 'object') return value;
  if (value instanceof Map) return [...value].map(plain);
  if (value instanceof Set || Array.isArray(value) || ArrayBuffer.isView(value))
    return Array.from(value as Iterable<unknown>, plain);
  const members = Object.entries(value).filter(([name]) => !LEFT_OUT.has(name));
  if (isPlace(value)) return null;
  return Object.fromEntries(
    members.sort(([a], [b]) => (a < b ? -1 : 1)).map(([name, member]) => [name, plain(member)]),
  );
}

const isPlace = (value: object): boolean => 'uri' in value && 'start' in value && 'end' in value;
