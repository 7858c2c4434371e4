/** The words of the outputs (heads of columns, states, marks), each with its meaning: for `caisson explain` and REFERENCE.md. */

export interface Term {
  /** As it stands in an output. */
  readonly word: string;
  /** Where it stands, as names of commands. */
  readonly where: string;
  /** One or two plain sentences. */
  readonly meaning: string;
}

const term = (word: string, where: string, meaning: string): Term => ({ word, where, meaning });

/** In alphabetical order. */
export const GLOSSARY: readonly Term[] = [
  term(
    'apart',
    'timing',
    'How long both doors are shut between the one being shut and the other leaving its seat; "none" where they are never both shut between two openings.',
  ),
  term('at limit', 'flow', 'Mass of one repeating stroke with the last chamber at its stated limit.'),
  term('at start', 'flow', 'Mass of one repeating stroke with the chambers as they are stated.'),
  term(
    'at trigger',
    'flow',
    'Mass of one repeating stroke with the chamber of the sensor at the value at which it trips.',
  ),
  term('both fully open', 'timing', 'How long two doors stand fully open at the same time, door travel excluded.'),
  term(
    'breaks first',
    'tolerance',
    'The time that breaks the requirement with the smallest change of it alone, then the next two. A travel so long that its door turns round half way is only sampled; that is said.',
  ),
  term(
    'by openings',
    'flow',
    'Computed from the flow through the stated openings in time, not from spaces that equalise at once.',
  ),
  term('ceiling', 'flow', 'Pressure or density of the last chamber at which a stroke moves nothing more.'),
  term(
    'closes against',
    'flow',
    'Greatest difference of pressure across a door while it closes, in a stroke at the trigger.',
  ),
  term('driven from, to', 'timing', 'When the drive of a door goes on and off, counted from the trigger.'),
  term(
    'force',
    'flow',
    'Greatest difference of pressure across a door times its opening; without seals, friction and weight.',
  ),
  term('fully open', 'timing', 'When a door reaches the end of its opening travel.'),
  term(
    'fully open for',
    'timing',
    'How long a door stands fully open: from the end of its opening travel to the start of closing.',
  ),
  term(
    'guaranteed',
    'tolerance',
    'True for every value of every time inside its tolerance, not only at the corners or in samples.',
  ),
  term(
    'if at once',
    'flow',
    'What a stroke at the trigger would move if joined spaces equalised at once, where openings are stated.',
  ),
  term('leaves shut', 'timing', 'When a door leaves its seat: from then on it lets something through.'),
  term(
    'longest input',
    'timing',
    'The longest time that the input of a timer stays on in any stroke, for an off-delay `off`; for a pulse the time from one start to the next, `apart`. The preset is compared with it.',
  ),
  term(
    'not guaranteed',
    'tolerance',
    'No counter-example was found, but not every value inside the tolerances could be covered.',
  ),
  term(
    'opens against',
    'flow',
    'Greatest difference of pressure across a door when it leaves its seat, in a stroke at the trigger.',
  ),
  term('open', 'check --values', 'The requirement is not decided; the words beside it name the reason.'),
  term('pocket up to', 'flow', 'Highest pressure of the pocket in front of a door in a stroke at the trigger.'),
  term(
    'power on the contents',
    'flow',
    'Greatest power at which a closing door pushes out what is in its pocket: pressure in the pocket times volume swept per second.',
  ),
  term('proved', 'prove', 'True for every moment of every input and every time inside its tolerance.'),
  term('refuted', 'prove', 'False: a run that breaks it is given and has been replayed by the event engine.'),
  term(
    'repeats every',
    'timing',
    'Time from one trigger to the next while the sensor stays tripped, once the pattern repeats exactly.',
  ),
  term('shut', 'timing', 'When a door is back on its seat: from then on it lets nothing through.'),
  term('starts to close', 'timing', 'When a door begins its closing travel.'),
  term(
    'strokes',
    'flow',
    'How many strokes it takes; a stroke is what the doors do from the first leaving home until all are back.',
  ),
  term('stroke ends at', 'timing', 'When the last door is back where it stands while the rig waits.'),
  term(
    'to spare',
    'timing, check --values',
    'How far a value is from where its requirement, or the timer, would fail; negative where it already fails.',
  ),
  term(
    'trigger',
    'timing',
    'The flip of a sensor or switch that starts a stroke: time zero of every time in the table.',
  ),
  term(
    'undecided',
    'check, prove',
    'Neither shown nor broken: the search or the budget ended first, or a figure was withheld. The reason stands beside it.',
  ),
  term(
    'within tolerance',
    'check, tolerance',
    'The lowest and highest value while every time moves inside its tolerance.',
  ),
  term(
    'withheld',
    'flow',
    'The figure is not given because its error is not known to be small or it would cost more than its budget; the reason stands beside it.',
  ),
];

/** The section of REFERENCE.md. */
export function glossaryReference(): string {
  const rows = GLOSSARY.map(({ word, where, meaning }) => `| ${word} | ${where} | ${meaning} |`);
  return ['| word | stands in | means |', '| --- | --- | --- |', ...rows, ''].join('\n');
}
