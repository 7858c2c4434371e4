/** What the editor shows about a rig, asked against its facts: hovers, ends of lines, lens, and the metrics of `ask`. */
import { askRig } from '../../server/core/document/ask';
import type { RigDocument } from '../../server/core/document/document';
import { lenses } from '../../server/core/features/code-lens';
import { hoverAt } from '../../server/core/features/hover';
import { escaped } from '../../server/core/features/markdown';
import { inlayHints } from '../../server/core/features/inlay-hints';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import { requirementValue, valueText } from '../../server/core/metrics/requirement-value';
import { diffRigs } from '../../server/core/report/diff';
import { timingJson, type TriggerJson } from '../../server/core/report/timing-json';
import { timingTable } from '../../server/core/report/timing-table';
import type { RigFacts } from '../../server/core/run/facts';
import { formatTime } from '../../server/core/units/units';

/** `fine` is false where two outputs contradict each other. */
export type That = (fine: boolean, sentence: string) => void;

/** Asks every output of the editor about one rig of `document`; strokes of the first trigger are what they count from. */
export function askEditor(that: That, document: RigDocument, facts: RigFacts): void {
  const [trigger] = timingJson(facts).triggers;
  if (!trigger) return;
  askHovers(that, document, facts, trigger);
  askLineEnds(that, document, facts);
  askLens(that, document, facts, trigger);
  if (document.parsed().problems.length === 0) askMetrics(that, document, facts);
  const side = { facts, problems: document.problems() };
  that(diffRigs(side, side).rows.length === 0, 'the rig differs from itself');
}

type Openings = TriggerJson['doors'][number]['windows'];

const openingsOf = (trigger: TriggerJson, door: string): Openings =>
  trigger.doors.find(({ name }) => name === door)?.windows ?? [];

/** Cells of the body rows of the first Markdown table about an item; one of several that a part makes stands behind its name. */
function rowsOf(markdown: string, name: string): string[][] {
  const own = markdown.includes(`**${name}**`) ? markdown.slice(markdown.indexOf(`**${name}**`)) : markdown;
  const lines = own.split('\n');
  const head = lines.findIndex((line) => line.startsWith('|'));
  const end = lines.findIndex((line, i) => i > head && !line.startsWith('|'));
  const body = head < 0 ? [] : lines.slice(head + 2, end < 0 ? undefined : end);
  return body.map((line) =>
    line
      .split('|')
      .slice(1, -1)
      .map((cell) => cell.trim()),
  );
}

const text = (seconds: number): string => formatTime(Math.round(seconds * 1e6));

/** A hover on a door has the moments of its first opening; the table of `timing` has the same. */
function askHovers(that: That, document: RigDocument, facts: RigFacts, trigger: TriggerJson): void {
  const printed = timingTable(facts);
  for (const door of facts.rig.doors) {
    const [first] = openingsOf(trigger, door.name);
    const hover = hoverAt(document, door.at.start, { causes: true })?.text ?? '';
    if (!first) {
      that(/Never opens after/.test(hover), `${door.name} never opens, its hover: ${hover}`);
      continue;
    }
    const [row] = rowsOf(hover, escaped(door.name));
    const [from, to] = first.notShut ?? [0, null];
    const leaves = from >= 0 ? text(from) : 'before';
    that(row?.[0] === leaves || row?.[0] === 'before', `${door.name} leaves at ${leaves}, its hover has ${row?.[0]}`);
    const shut = to === null ? 'stays open' : text(to);
    that(row?.[3] === shut, `${door.name} is shut at ${shut}, its hover has ${row?.[3]}`);
    if (to === null) continue;
    const line = printed.find((l) => l.trim().startsWith(`${door.name} `) && l.includes(shut));
    that(line !== undefined, `${door.name} is shut at ${shut}, of which the table has nothing`);
  }
}

/** The ends of lines show requirements with the words of `check --values`. */
function askLineEnds(that: That, document: RigDocument, facts: RigFacts): void {
  const whole = { start: 0, end: document.text.length };
  const hints = inlayHints(document, whole, { drives: true, timers: true, requirements: true });
  const { requirements } = facts.rig;
  for (const requirement of requirements.filter(({ at }) => at.uri === document.uri)) {
    const expected = valueText(requirementValue(facts, requirement));
    const shown = hints.filter((h) => h.at === requirement.at.end);
    const several = requirements.filter(({ at }) => at.start === requirement.at.start).length > 1;
    const fine = several ? shown[0]?.explanation.includes(escaped(expected)) : shown[0]?.label === expected;
    that(expected === '' ? shown.length === 0 : fine === true, `${requirement.text}: no line ends with "${expected}"`);
    const hover = hoverAt(document, requirement.at.start, { causes: false })?.text ?? '';
    that(hover.includes(escaped(expected)), `${requirement.text}: the hover has no "${expected}"`);
  }
}

/** The lens has the interval of the table and as many requirements met as are met. */
function askLens(that: That, document: RigDocument, facts: RigFacts, { repeat }: TriggerJson): void {
  const title = lenses(document).find((l) => l.kind === 'overview' && l.rig === facts.rig.name)?.title ?? '';
  const interval = repeat === null ? 'does not repeat' : `repeats every ${text(repeat)}`;
  that(title.startsWith(interval), `the lens begins "${title}", the table has "${interval}"`);
  const { requirements } = facts.rig;
  const met = requirements.filter((r) => evaluateRequirement(facts, r).state === 'met').length;
  const words = `${met} of ${requirements.length} requirement`;
  if (requirements.length > 0) that(title.includes(words), `the lens is "${title}", ${words}s are met`);
}

/** Values of a metric in seconds; [] where it has none. */
function asked(document: RigDocument, facts: RigFacts, question: string): number[] {
  const answer = askRig(document, facts.rig, question);
  if (answer.kind !== 'measured') throw new Error(`${question}: ${answer.kind === 'problem' ? answer.message : ''}`);
  return answer.measurement.kind === 'values' ? answer.measurement.values.map(({ value }) => value) : [];
}

/** Every metric of time that needs no limit has the value that stands in the JSON of `timing`; rigs of one trigger. */
function askMetrics(that: That, document: RigDocument, facts: RigFacts): void {
  const [trigger, ...others] = timingJson(facts).triggers;
  if (!trigger || others.length > 0) return;
  const same = (question: string, expected: number | null): void => {
    const found = asked(document, facts, question);
    const fine = expected === null ? found.length === 0 : found.some((v) => Math.abs(v / 1e6 - expected) < 1e-9);
    that(fine, `${question} is ${found.map((v) => v / 1e6).join() || 'none'}, the JSON has ${expected}`);
  };
  same('repeat()', trigger.repeat);
  same('cycle()', trigger.strokeEnds);
  for (const { name, windows } of trigger.doors) {
    // One that leaves its seat at 0 s and one that has been open since before read the same in the JSON.
    const [opens] = windows.some(({ notShut }) => notShut?.[0] === 0) ? [] : windows;
    const shuts = windows.find(({ notShut }) => notShut && notShut[1] !== null && notShut[1] >= 0);
    if (opens?.notShut) same(`opens_at(${name})`, opens.notShut[0]);
    if (shuts) same(`shuts_at(${name})`, shuts.notShut![1]);
    if (windows.length === 0) same(`open_time(${name})`, null);
  }
}
