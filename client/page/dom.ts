/** Elements by hand. Text goes in as text; there is no way to put markup in. */

type Child = Node | string | null | false | undefined;
type Attributes = Readonly<Record<string, string | number | boolean | undefined>>;

/** An HTML element with attributes (true: present, false or undefined: absent) and children. */
export function h<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Attributes = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) setAttribute(element, name, value);
  element.append(...children.filter((c): c is Node | string => c !== null && c !== false && c !== undefined));
  return element;
}

export function setAttribute(element: Element, name: string, value: string | number | boolean | undefined): void {
  if (value === undefined || value === false) element.removeAttribute(name);
  else element.setAttribute(name, value === true ? '' : String(value));
}

/** A push button with an accessible name; `label` says what `text` alone does not. */
export function button(text: string, label: string, act: () => void): HTMLButtonElement {
  const made = h('button', { type: 'button', title: label, 'aria-label': spokenName(text, label) }, text);
  made.addEventListener('click', act);
  return made;
}

/** A name to be read out that begins with what is seen, so that people who speak to their machine can say what they see. */
export function spokenName(text: string, label: string): string {
  const isSign = !/\p{L}/u.test(text);
  return isSign || label.toLowerCase().includes(text.toLowerCase()) ? label : `${text}: ${label}`;
}

/** Text of an element, written only where it differs. */
export function setText(element: Element, text: string): void {
  if (element.textContent !== text) element.textContent = text;
}

/** The nearest element at or above an event's target that has an attribute, and its value. */
export function hit(event: Event, attribute: string): { element: Element; value: string } | null {
  const element = event.target instanceof Element ? event.target.closest(`[${attribute}]`) : null;
  return element ? { element, value: element.getAttribute(attribute)! } : null;
}

/** A table of texts: heads of columns above, the first cell of a row as its head. */
export function textTable(
  caption: string,
  columns: readonly string[],
  rows: readonly (readonly string[])[],
): HTMLTableElement {
  const head = h('tr', {}, ...columns.map((c) => h('th', { scope: 'col' }, c)));
  const body = rows.map(([first, ...others]) =>
    h('tr', {}, h('th', { scope: 'row' }, first ?? ''), ...others.map((c) => h('td', {}, c))),
  );
  return h('table', {}, h('caption', {}, caption), h('thead', {}, head), h('tbody', {}, ...body));
}
