/** A control network as readable lines, for tests. */
import type { Logic, Rig, TimeValue } from '../../server/core/model/rig';
import { formatTime } from '../../server/core/units/units';

function logicText(rig: Rig, logic: Logic, nested = false): string {
  switch (logic.op) {
    case 'net':
      return rig.network.nets[logic.net]!.name;
    case 'const':
      return logic.value ? 'on' : 'off';
    case 'not':
      return `not ${logicText(rig, logic.a, true)}`;
    default: {
      const isChain = logic.a.op === logic.op;
      const text = `${logicText(rig, logic.a, !isChain)} ${logic.op} ${logicText(rig, logic.b, true)}`;
      return nested ? `(${text})` : text;
    }
  }
}

function timeText(time: TimeValue): string {
  const exact = time.min === time.nominal && time.max === time.nominal;
  return formatTime(time.nominal) + (exact ? '' : ` (${formatTime(time.min)} to ${formatTime(time.max)})`);
}

/** One line per element in order, then one per drive; a response of zero is left out. */
export function networkLines(rig: Rig): string[] {
  const elements = rig.network.elements.map((element) => {
    const inputs = element.inputs.map((input) => logicText(rig, input));
    if (element.preset !== null) inputs.push(timeText(element.preset));
    if (element.count !== null) inputs.push(String(element.count));
    const responds = element.response.max === 0 ? '' : ` responds ${timeText(element.response)}`;
    return `${element.name} = ${element.kind}(${inputs.join(', ')})${responds}`;
  });
  const drives = rig.drives.map((drive) => {
    const target = (drive.kind === 'door' ? rig.doors : rig.lines)[drive.target]!;
    return `drive ${target.name} = ${rig.network.nets[drive.net]!.name}`;
  });
  return [...elements, ...drives];
}
