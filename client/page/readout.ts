/** The position of every door and the contents of every chamber at the time cursor, and the differences to the second cursor: always in sight while there is one. */
import { say } from '../../server/core/words/say';
import { laneWords, positionAt } from '../../server/core/diagram/kit/state';
import type { DoorLane } from '../../server/core/diagram/timing/model';
import { valueOf } from '../../server/core/diagram/section/svg';
import type { Contents } from '../../server/core/diagram/section/model';
import { momentText, signedTime } from '../../server/core/diagram/kit/time-text';
import type { App } from './app';
import { h, setText } from './dom';
import type { Strip } from './hand-strip';
import { shownContents, shownPlot, shownStore } from './session';
import { storeReadings } from './store/scene';

interface Reading {
  readonly name: string;
  readonly text: string;
}

export function createReadout(app: App): Strip {
  const list = h('dl');
  const element = h('section', { class: 'strip readout', 'aria-label': say`At the time cursor` }, list);
  return {
    element,
    draw() {
      const store = shownPlot(app.session) ? null : shownStore(app.session);
      const readings = app.tab() !== 'store' ? readingsOf(app) : store ? storeReadings(app.session, store) : [];
      element.hidden = readings.length === 0;
      const names = readings.map((r) => r.name).join('\n');
      if (element.dataset.names !== names) {
        element.dataset.names = names;
        list.replaceChildren(...readings.map((r) => h('div', {}, h('dt', {}, r.name), h('dd'))));
      }
      const cells = list.querySelectorAll('dd');
      readings.forEach((r, k) => setText(cells[k]!, r.text));
    },
  };
}

function readingsOf(app: App): Reading[] {
  const { time, mark } = app.session.view;
  const model = app.timing();
  if (!model || time === undefined) return [];
  const doors = model.lanes.filter((l): l is DoorLane => l.kind === 'door');
  const contents = shownContents(app.session);
  // Nothing was recorded before the picture begins: nothing is counted from there.
  const known = mark !== undefined && mark >= model.start ? mark : undefined;
  const at = {
    name: say`at`,
    text:
      momentText(time, model) +
      (mark === undefined ? '' : say`, ${signedTime(time - mark, model)} from ${momentText(mark, model)}`),
  };
  return [at, ...doors.map((d) => doorReading(d, time, known)), ...contents.map((c) => contentsReading(c, time, mark))];
}

function doorReading(lane: DoorLane, time: number, mark: number | undefined): Reading {
  const words = laneWords(lane, time);
  if (mark === undefined) return { name: lane.name, text: words };
  const moved = Math.round(100 * (positionAt(lane.points, time) - positionAt(lane.points, mark)));
  return { name: lane.name, text: moved === 0 ? words : `${words} (${signed(moved, 0)} %)` };
}

function contentsReading(contents: Contents, time: number, mark: number | undefined): Reading {
  const value = valueOf(contents, time);
  const before = mark === undefined ? null : valueOf(contents, mark);
  if (value === null) return { name: contents.chamber.slice('chamber:'.length), text: say`not known` };
  const away = before === null ? '' : ` (${signed(value - before, 3)})`;
  return {
    name: contents.chamber.slice('chamber:'.length),
    text: `${Number(value.toPrecision(4))} ${contents.unit}${away}`,
  };
}

function signed(value: number, digits: number): string {
  const text = digits === 0 ? String(Math.abs(value)) : String(Number(Math.abs(value).toPrecision(digits)));
  return value < 0 ? `−${text}` : `+${text}`;
}
