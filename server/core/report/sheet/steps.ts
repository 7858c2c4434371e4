/**
 * Order of work and commissioning. The order is common practice (no source): leave a way in until last, keep control isolated
 * until everything is connected, power last, first stroke without the medium. Expected times are those of the event engine.
 */
import type { Rig } from '../../model/rig';
import { edgeRanges, type NamedRanges } from '../../run/edge-ranges';
import type { RigFacts } from '../../run/facts';
import { alikeStrokes } from '../../timing/alike';
import { isSinceBefore, leavesAt } from '../../timing/course';
import type { StrokeFacts } from '../../timing/facts';
import { sinceTrigger } from '../../timing/words';
import { formatCount, formatTime } from '../../units/units';
import type { PageSteps } from '../page/page';
import { sensorWords } from './control-tables';
import { ventSteps } from './vents';
import type { Wiring } from './connections';
import { builtChambers } from './works-table';
import { say } from '../../words/say';

type Step = PageSteps['items'][number];

const todo = (words: string, see = ''): Step => ({ todo: words, see });

/** `2 sensors and 1 switch`; what there is none of is not mentioned. */
function mounted({ units }: Wiring): string {
  const of = (kind: 'sensor' | 'switch', ending: string) => {
    const { length } = units.filter((u) => u.kind === kind);
    return length === 0 ? [] : [formatCount(length, kind, ending)];
  };
  return [...of('sensor', 's'), ...of('switch', 'es')].join(` ${say`and`} `) || say`no sensor and no switch`;
}

/** Where the doors stand once all is still with power on: those that then stand otherwise than without it. */
function poweredWords({ rig, timing }: RigFacts): string {
  const { openDoors, movingDoors } = timing.atRest;
  const moved = rig.doors.flatMap((d, k) => {
    const now = movingDoors.includes(k) ? null : openDoors.includes(k) ? 'open' : 'closed';
    if (now === null) return [say`${d.name} opens and closes by itself`];
    return now === d.rest
      ? []
      : [`${d.name} ${now === 'open' ? say`opens and stays open` : say`closes and stays shut`}`];
  });
  return [...moved, ...(moved.length < rig.doors.length ? [say`every other door is where it was`] : [])]
    .join('; ')
    .replace(/^every other/, 'every');
}

export function orderOfWork(facts: RigFacts, wiring: Wiring): PageSteps {
  const { rig } = facts;
  const drives = wiring.wires.filter((w) => w.to.pin === 'drive').length;
  const doors = rig.doors.map((d) => d.name);
  return {
    kind: 'steps',
    items: [
      todo(
        say`Isolate and lock off the supply of power and of every feed. Tag them; keep them so until a step below gives one back.`,
      ),
      todo(
        say`Set the chambers in place (${builtChambers(rig).join(', ') || say`none`}). Leave one way in open to each until last.`,
      ),
      todo(
        say`Fit the doors (${doors.join(', ') || say`none`}) and move each by hand over its whole travel.`,
        say`each door moves freely, seats, and stands as its "without power" column says`,
      ),
      todo(say`Mount ${mounted(wiring)}; check every set point and its polarity against the table of inputs.`),
      todo(say`Mount gates, timers, latches and counters; set each to the table of settings before it is wired.`),
      todo(
        wiring.wires.length - drives === 1
          ? say`Connect the 1 wire of the list that goes to no drive, ticking it.`
          : say`Connect the ${wiring.wires.length - drives} wires of the list that go to no drive, ticking each. Signals that go to several places need every one of them.`,
        say`${wiring.wires.length - drives} ticks; then have a second person count them again`,
      ),
      todo(
        say`Connect the ${formatCount(drives, 'wire')} to drives last, with their power still isolated.`,
        say`a tick at every line of the list`,
      ),
      todo(
        say`Close the ways in, leak-test as your local code asks, and have the pressure equipment accepted by whoever must accept it.`,
      ),
      todo(say`Give power to the control only, doors still isolated.`, initialWords(rig)),
      todo(
        say`Give power to the doors, with the medium still shut off and people clear of every door.`,
        poweredWords(facts),
      ),
    ],
  };
}

function initialWords(rig: Rig): string {
  const on = rig.switches.filter((s) => s.initial).map((s) => s.name);
  if (rig.switches.length === 0) return say`nothing moves`;
  if (on.length === 0) return say`every switch stands off`;
  const others = on.length < rig.switches.length ? say`, all others off` : '';
  return `${on.length === 1 ? 'switch' : 'switches'} ${on.join(', ')} on${others}`;
}

/** Dry commissioning of each stroke: operate the trigger by hand, watch every edge of every door. */
export function commissioning(facts: RigFacts): PageSteps {
  const { rig, timing } = facts;
  const ranges = edgeRanges(rig, timing);
  const items = alikeStrokes(timing.strokes).flatMap(([first, ...others]) => [
    ...strokeSteps(rig, first!, ranges[timing.strokes.indexOf(first!)] ?? new Map()),
    ...others.map((stroke) =>
      todo(
        say`${startWords(rig, stroke)} Watch the doors again.`,
        say`the same at the same times as ${sinceTrigger(first!)}`,
      ),
    ),
  ]);
  return {
    kind: 'steps',
    items: [
      todo(say`With the medium shut off, let the rig stand.`, restWords(facts)),
      ...items,
      ...ventSteps(rig),
      todo(say`Take power away while doors are open, medium still shut off.`, powerWords(rig)),
      todo(
        say`Only now let the medium in, at the lowest pressure at which the trigger can be reached, and repeat the steps above.`,
      ),
    ],
  };
}

function restWords({ rig, timing }: RigFacts): string {
  const { openDoors, movingDoors } = timing.atRest;
  const names = (doors: readonly number[]): string => doors.map((d) => rig.doors[d]!.name).join(', ');
  const moving = movingDoors.length === 0 ? [] : [say`${names(movingDoors)} go on opening and closing`];
  const open = openDoors.length === 0 ? [] : [`${names(openDoors)} open`];
  if (moving.length + open.length === 0) return say`no door moves; every door is shut`;
  return [
    ...moving,
    ...open,
    ...(moving.length + open.length < rig.doors.length ? [say`every other door shut`] : []),
  ].join(', ');
}

function powerWords(rig: Rig): string {
  const by = (rest: 'open' | 'closed') => rig.doors.filter((d) => d.rest === rest).map((d) => d.name);
  const parts = [
    ...(by('closed').length > 0 ? [`${by('closed').join(', ')} close${by('closed').length === 1 ? 's' : ''}`] : []),
    ...(by('open').length > 0 ? [`${by('open').join(', ')} open${by('open').length === 1 ? 's' : ''}`] : []),
  ];
  return parts.join('; ');
}

/** What starts a stroke and its clock. */
function startWords(rig: Rig, { trigger, becomes }: StrokeFacts): string {
  const how =
    trigger.kind === 'sensor'
      ? say` (${sensorWords(rig, trigger.name)}; by hand at the sensor, or with a test signal)`
      : '';
  return trigger.kind === 'power'
    ? say`The rig runs by itself: start the clock as the first door leaves its seat.`
    : say`Bring ${trigger.name} ${becomes ? 'on' : 'off'}${how} and start the clock at that moment.`;
}

function strokeSteps(rig: Rig, stroke: StrokeFacts, ranges: NamedRanges): Step[] {
  const { trigger } = stroke;
  const first = todo(
    say`${startWords(rig, stroke)} Tick each of the next lines that is seen; at the first that is not, look it up in the table of faults.`,
  );
  const repeat =
    stroke.repeat === null
      ? []
      : [
          todo(
            trigger.kind === 'power' ? say`Let it run.` : say`Hold ${trigger.name}.`,
            say`the stroke repeats every ${formatTime(stroke.repeat)}`,
          ),
        ];
  return [first, ...edgesOf(rig, stroke, ranges), ...repeat];
}

/** Every edge of every door of the first stroke in order of time, as an observation to make. */
function edgesOf(rig: Rig, stroke: StrokeFacts, ranges: NamedRanges): Step[] {
  const found: { t: number; door: string; what: string; key: string }[] = [];
  for (const { door, windows } of stroke.doors) {
    const { name } = rig.doors[door]!;
    windows.forEach((w, k) => {
      const leaves = leavesAt(w);
      if (leaves !== null && leaves >= 0)
        found.push({ t: leaves, door: name, what: say`leaves its seat`, key: `door:${name}/opens/${k}` });
      if (w.fullyOpen && !isSinceBefore(w, w.fullyOpen))
        found.push({ t: w.fullyOpen.from, door: name, what: say`is fully open`, key: `door:${name}/opened/${k}` });
      if (w.notShut.to !== null)
        found.push({
          t: w.notShut.to,
          door: name,
          what: w.openBefore ? say`is shut` : say`is shut again`,
          key: `door:${name}/shuts/${k}`,
        });
    });
  }
  found.sort((a, b) => a.t - b.t || a.door.localeCompare(b.door));
  return found.map(({ t, door, what, key }) => {
    const range = ranges.get(key);
    const within =
      range && range.min < range.max ? say` (within ${formatTime(range.min)} to ${formatTime(range.max)})` : '';
    return todo(say`At ${formatTime(t)}${within}: ${door} ${what}.`);
  });
}
