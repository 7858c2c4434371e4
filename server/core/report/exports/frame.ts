/** What every export that leads to hardware begins with: what it is, the caution, and names that had to be changed. */
import type { Rig } from '../../model/rig';
import { formatTime } from '../../units/units';
import { caution } from '../caution';
import type { Identifiers } from './identifiers';

const WIDTH = 110;

/** A text broken into lines of at most `width` characters at blanks. */
export function wrapped(text: string, width = WIDTH): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && line.length + 1 + word.length > width) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  return [...lines, line];
}

/** Text of a rig inside a comment: control characters and comment ends cannot get out of it. */
export function commentSafe(text: string): string {
  // eslint-disable-next-line no-control-regex
  return text.replace(/[\u0000-\u001f\u007f\u2028\u2029]+/g, ' ').replace(/\*\/|\/\*|\(\*|\*\)/g, '* ');
}

/** Lines of the opening comment, without comment marks. `about` says what the file is and what it leaves out. */
export function openingLines(rig: Rig, about: readonly string[], identifiers: Identifiers): string[] {
  const changed = identifiers.changed();
  const title = rig.title === '' ? rig.name : `${rig.name}: ${rig.title}`;
  return [
    ...wrapped(commentSafe(title)),
    ...about.flatMap((paragraph) => ['', ...wrapped(commentSafe(paragraph))]),
    '',
    ...wrapped(`CAUTION. ${caution()}`),
    ...(changed.length === 0 ? [] : ['', 'Names changed to fit the language (name in the rig, name here):']),
    ...changed.map(([name, identifier]) => `  ${commentSafe(name)}  ${identifier}`),
  ];
}

/** "every element answers after 40 ms", "every 20 ms all signals are evaluated in written order". */
export function controllerWords({ controller }: Rig): string {
  const time = formatTime(controller.time.nominal);
  return controller.style === 'scan'
    ? `Inputs are read, all signals evaluated in written order and outputs written once every ${time}.`
    : `Every element answers ${time} after its input, except where the rig states another response.`;
}
