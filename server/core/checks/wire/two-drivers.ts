/** `wire/two-drivers`: two drives for one door, feed or draw. */
import { asOperand } from '../../../../grammar/src/rewrite';
import type { Fix } from '../../model/problem';
import type { Rig } from '../../model/rig';
import { sameSource } from '../../choose/literals';
import { type Check, type CheckContext, found, type Found } from '../check';
import { deleteStatement, expressionOf } from '../repair/edits';
import { say } from '../../words/say';

export const twoDrivers: Check = {
  code: 'wire/two-drivers',
  title: 'Driven twice',
  severity: 'error',
  explanation:
    'A door, feed or draw has more than one `drive`, or two sequences move the same door. Which of them wins would be chance in a built rig. Join the expressions in one `drive`, with `or` where either shall open it.',
  run: doubleDrives,
};

type Drive = Rig['drives'][number];

function doubleDrives(context: CheckContext): Found[] {
  const first = new Map<string, Drive>();
  return context.rig.drives.flatMap((drive) => {
    const key = `${drive.kind === 'door' ? 'door' : 'line'} ${drive.target}`;
    const earlier = first.get(key);
    if (!earlier) {
      first.set(key, drive);
      return [];
    }
    return [problemOf(context, earlier, drive)];
  });
}

function nameOf(rig: Rig, drive: Drive): string {
  return (drive.kind === 'door' ? rig.doors[drive.target] : rig.lines[drive.target])?.name ?? '?';
}

function problemOf(context: CheckContext, earlier: Drive, drive: Drive): Found {
  const { rig } = context;
  const name = nameOf(rig, drive);
  const about = drive.kind === 'door' ? { doors: [drive.target] } : { chambers: [rig.lines[drive.target]!.chamber] };
  return found(twoDrivers, drive.at, say`${name} is driven twice; join both in one statement.`, about, {
    related: [{ at: earlier.at, message: say`${name} is driven here too.` }],
    fixes: joinFixes(context, earlier, drive),
  });
}

function joinFixes(context: CheckContext, first: Drive, second: Drive): Fix[] {
  if (sameSource(first.whole, second.whole)) return [];
  const one = expressionOf(context, first.whole);
  const other = expressionOf(context, second.whole);
  const removal = deleteStatement(context, second.whole);
  if (!one || !other || !removal) return [];
  const joined = { at: one.at, text: `${asOperand(one.text, 'or')} or ${asOperand(other.text, 'or')}` };
  const name = nameOf(context.rig, second);
  return [
    { title: say`Join both drives of ${name} with or`, edits: [joined, removal], preferred: true },
    { title: say`Remove the second drive of ${name}`, edits: [removal] },
  ];
}
