/** Problems of a text as short lines, for tests that list them. */
import { resolveText, type RigOptions } from './rig';

/** `code "text at the place": message` for each problem but hints, syntax problems first. */
export function problemLines(text: string, options: RigOptions = {}): string[] {
  return resolveText(text, options)
    .problems.filter((line) => !line.startsWith('name/unused'))
    .map((line) => line.replace(/ at \d+:\d+/, ''));
}
