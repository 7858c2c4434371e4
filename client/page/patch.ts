/** Shapes → SVG elements, changed in place by key: what did not change is not touched, so focus, hover and scrolling survive. */
import { attributeText, type Attributes, type Shape } from '../../server/core/diagram/kit/shape';

const NAMESPACE = 'http://www.w3.org/2000/svg';

/** What an element was last drawn from. */
const drawn = new WeakMap<Element, Shape>();
/** The elements of a parent's shapes, in order, as drawn last. */
const children = new WeakMap<Element, readonly Element[]>();

/** Makes the children of `parent` be the shapes, in order. */
export function patch(parent: Element, shapes: readonly Shape[]): void {
  const now = children.get(parent);
  // Most drawings change values only: then nothing is looked up or moved.
  if (now && now.length === shapes.length && now.every((element, k) => isSame(drawn.get(element), shapes[k]!))) {
    now.forEach((element, k) => update(element, shapes[k]!));
    return;
  }
  children.set(parent, patchByName(parent, shapes));
}

const isSame = (before: Shape | undefined, shape: Shape): boolean =>
  before !== undefined && before.tag === shape.tag && before.key === shape.key;

function patchByName(parent: Element, shapes: readonly Shape[]): readonly Element[] {
  const old = new Map<string, Element>();
  for (const child of [...parent.children]) old.set(nameOf(drawn.get(child), old), child);
  const names = new Map<string, Element>();
  let cursor: ChildNode | null = parent.firstChild;
  for (const shape of shapes) {
    const name = nameOf(shape, names);
    const element = old.get(name) ?? document.createElementNS(NAMESPACE, shape.tag);
    old.delete(name);
    names.set(name, element);
    update(element, shape);
    if (element === cursor) cursor = cursor.nextSibling;
    else parent.insertBefore(element, cursor);
  }
  for (const element of old.values()) element.remove();
  return [...names.values()];
}

/** Tag and key; a second one of the same name (it should not be) gets a number. */
function nameOf(shape: Shape | undefined, taken: ReadonlyMap<string, Element>): string {
  const stem = shape ? `${shape.tag} ${shape.key}` : '?';
  let name = stem;
  for (let k = 2; taken.has(name); k++) name = `${stem} #${k}`;
  return name;
}

function update(element: Element, shape: Shape): void {
  const before = drawn.get(element);
  if (before === shape) return;
  drawn.set(element, shape);
  const was: Attributes = before?.attributes ?? {};
  for (const name in shape.attributes) {
    const value = shape.attributes[name];
    if (value === was[name]) continue;
    if (value === undefined) element.removeAttribute(name);
    else element.setAttribute(name, attributeText(value));
  }
  for (const name in was) if (was[name] !== undefined && !(name in shape.attributes)) element.removeAttribute(name);
  if (shape.children.length > 0) return patch(element, shape.children);
  if (before && before.children.length === 0 && before.text === shape.text) return;
  children.delete(element);
  if (element.firstElementChild || element.textContent !== shape.text) element.textContent = shape.text;
}
