/**
 * Pictures as plain data: a tree of shapes that becomes SVG text (`renderShape`) or, in the preview page, elements that are
 * patched in place. Attribute values and text are data and are escaped here; nothing from a rig file is ever taken as markup.
 * Only presentation attributes are used, so that the pictures work under a content policy that blocks inline styles.
 */

export type Tag =
  | 'svg'
  | 'g'
  | 'path'
  | 'rect'
  | 'line'
  | 'circle'
  | 'text'
  | 'tspan'
  | 'title'
  | 'desc'
  | 'defs'
  | 'pattern'
  | 'linearGradient'
  | 'stop'
  | 'clipPath';

export type Attributes = Readonly<Record<string, string | number | undefined>>;

/** One element. `key` names it among its siblings and stays the same from one drawing to the next (patching goes by it). */
export interface Shape {
  readonly tag: Tag;
  readonly key: string;
  readonly attributes: Attributes;
  readonly children: readonly Shape[];
  /** Text content, before the children. */
  readonly text: string;
}

/** A picture with its natural size in px; `shapes` stand in an area from 0, 0 to that size. */
export interface Figure {
  readonly width: number;
  readonly height: number;
  readonly shapes: readonly Shape[];
}

/** A shape with attributes and children; falsy children are left out, so that parts can be optional in place. */
export function shape(
  tag: Tag,
  key: string,
  attributes: Attributes = {},
  children: readonly (Shape | null | false)[] = [],
): Shape {
  return { tag, key, attributes, children: children.filter((c): c is Shape => !!c), text: '' };
}

/** A shape that holds text (`text`, `title`, `desc`). */
export function textShape(tag: Tag, key: string, attributes: Attributes, text: string): Shape {
  return { tag, key, attributes, children: [], text };
}

/** A coordinate or length as SVG text: at most two decimals, no negative zero. */
export function round2(value: number): number {
  return Math.round(value * 100) / 100 + 0;
}

// Everything outside the Char production of XML 1.0 (section 2.2): control characters, lone surrogates, U+FFFE, U+FFFF.
const FORBIDDEN = /[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu;

/** Text made safe for element content and double-quoted attribute values. */
export function escapeXml(text: string): string {
  return text
    .replace(FORBIDDEN, '\ufffd')
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;')
    .replace(/"/g, '&quot;')
    .replace(/'/g, '&#39;');
}

/** The value of an attribute as it is written: numbers rounded. */
export const attributeText = (value: string | number): string =>
  typeof value === 'number' ? String(round2(value)) : value;

/** SVG text of a shape and what is in it; one element a line, indented, so that stored pictures can be read and compared. */
export function renderShape(node: Shape, indent = ''): string {
  const attributes = Object.entries(node.attributes)
    .map(([name, value]) => (value === undefined ? '' : ` ${name}="${escapeXml(attributeText(value))}"`))
    .join('');
  const open = `${indent}<${node.tag}${attributes}`;
  if (node.children.length === 0) return node.text ? `${open}>${escapeXml(node.text)}</${node.tag}>` : `${open}/>`;
  const inner = node.children.map((c) => renderShape(c, indent + ' ')).join('\n');
  return `${open}>${escapeXml(node.text)}\n${inner}\n${indent}</${node.tag}>`;
}
