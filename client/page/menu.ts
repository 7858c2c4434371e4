/** A button that opens a short list of actions. */
import { h, setAttribute, spokenName } from './dom';

export interface MenuItem {
  readonly text: string;
  readonly act: () => void;
  /** Marked while it holds; absent: an action that is never marked. */
  readonly isPressed?: () => boolean;
  /** Absent: always. */
  readonly isOffered?: () => boolean;
}

interface Menu {
  readonly element: HTMLDetailsElement;
  draw(): void;
}

/** Closes on Escape, on choosing and on a click elsewhere; arrows go from item to item. */
export function menu(text: string, label: string, items: readonly MenuItem[]): Menu {
  const summary = h('summary', { 'aria-label': spokenName(text, label), title: label }, text);
  const element = h('details', { class: 'menu' }, summary);
  const made = items.map((item) => {
    const choice = h('button', { type: 'button' }, item.text);
    choice.addEventListener('click', () => {
      close(element);
      item.act();
    });
    return choice;
  });
  element.append(h('div', { class: 'list', role: 'group', 'aria-label': label }, ...made));
  element.addEventListener('keydown', (event) => {
    if (!element.open) return;
    if (event.key === 'Escape') close(element);
    else if (event.key === 'ArrowDown') goTo(made, 1);
    else if (event.key === 'ArrowUp') goTo(made, -1);
    else return;
    event.preventDefault();
    event.stopPropagation();
  });
  document.addEventListener('click', (event) => {
    if (!element.contains(event.target as Node)) element.open = false;
  });
  return {
    element,
    draw: () =>
      items.forEach(({ isPressed, isOffered }, k) => {
        made[k]!.hidden = isOffered?.() === false;
        if (isPressed) setAttribute(made[k]!, 'aria-pressed', isPressed() ? 'true' : 'false');
      }),
  };
}

function close(element: HTMLDetailsElement): void {
  element.open = false;
  element.querySelector('summary')?.focus();
}

function goTo(items: readonly HTMLButtonElement[], direction: 1 | -1): void {
  const shown = items.filter((i) => !i.hidden);
  const here = shown.indexOf(document.activeElement as HTMLButtonElement);
  shown[
    here < 0 ? (direction === 1 ? 0 : shown.length - 1) : (here + direction + shown.length) % shown.length
  ]?.focus();
}
