/** Shapes → SVG elements, changed in place by key: what did not change is not touched, so focus, hover and scrolling survive. */
import { attributeEntries, type Shape } from '../../server/core/diagram/kit/shape';

const NAMESPACE = 'http://www.w3.org/2000/svg';

/** What an element was last drawn from. */
const drawn = new WeakMap<Element, Shape>();

/** Makes the children of `parent` be the shapes, in order. */
export function patch(parent: Element, shapes: readonly Shape[]): void {
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
  const kept = new Map(before ? attributeEntries(before.attributes) : []);
  for (const [name, value] of attributeEntries(shape.attributes)) {
    if (kept.get(name) !== value) element.setAttribute(name, value);
    kept.delete(name);
  }
  for (const name of kept.keys()) element.removeAttribute(name);
  if (shape.children.length > 0) return patch(element, shape.children);
  if (element.firstElementChild || element.textContent !== shape.text) element.textContent = shape.text;
}
