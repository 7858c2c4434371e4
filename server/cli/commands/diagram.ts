/** `caisson diagram`: the timing diagram, the section, the store or the wiring as SVG or PNG. */
import { caution } from '../../core/report/caution';
import { overrideNote } from '../../core/document/overrides';
import { noted } from '../../core/diagram/kit/noted';
import { CURVES, PANELS, pictureOf, type Curves, type Panel } from '../../core/diagram/pictures';
import { whyNoStores } from '../../core/diagram/store/model';
import type { Scenario } from '../../core/model/rig';
import type { RigFacts } from '../../core/run/facts';
import { parseTime } from '../../core/units/units';
import { openInputs } from '../inputs';
import { outputFormat, UsageError, type Io } from '../io';
import { selectRig, selectScenario, selectStroke } from '../select';
import { svgToPng } from '../png';
import { WATCH_HELP, WATCH_OPTION, watching } from '../watching';
import { countOf, inputOptions, LET_HELP, LET_OPTION, stringOf, type Command, type Values } from './command';
import { blockingErrors } from './blocking';

const LOOKS = ['light', 'dark', 'print'] as const;

export const diagram: Command = {
  name: 'diagram',
  words: 'FILE|-',
  summary: 'the timing diagram, section, store or wiring as SVG or PNG',
  help: [
    '--out FILE              write to a file (.svg or .png); default: SVG to standard output',
    '--format FORMAT         svg or png (default: by the ending of --out)',
    '--panel PANEL           timing (default), section, store or wiring',
    '--curves WHAT           of store: run (default), stroke (pressures over one stroke), volume (pressure against volume),',
    '                        gain (mass per stroke against what the store holds)',
    '--at TIME               moment that section and wiring show, from the trigger or the start of the scenario (default 0 s)',
    '--look LOOK             light (default), dark or print',
    '--width PIXELS          width of the picture (default 1000)',
    '--rig NAME              which rig, where the file has several',
    '--trigger SENSOR        which stroke, where several sensors start one',
    '--scenario NAME         draw this scenario instead of a stroke',
    ...WATCH_HELP,
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    out: { type: 'string', short: 'o' },
    format: { type: 'string' },
    panel: { type: 'string' },
    curves: { type: 'string' },
    at: { type: 'string' },
    look: { type: 'string' },
    width: { type: 'string' },
    rig: { type: 'string' },
    trigger: { type: 'string' },
    scenario: { type: 'string' },
    ...WATCH_OPTION,
  },
  choices: { format: ['svg', 'png'], panel: PANELS, curves: CURVES, look: LOOKS },
  run(io, words, values) {
    if (values['watch'] && (words.includes('-') || (stringOf(values, 'out') ?? '-') === '-'))
      throw new UsageError('--watch draws a file again when it changes: name the rig and, with --out, the picture.');
    const once = (): Promise<number> => drawn(io, words, values);
    return values['watch'] ? watching(io, once) : once();
  },
};

async function drawn(io: Io, words: readonly string[], values: Values): Promise<number> {
  const out = stringOf(values, 'out') ?? '-';
  const kind = outputFormat(['svg', 'png'], out, stringOf(values, 'format'));
  const look = (stringOf(values, 'look') ?? 'light') as (typeof LOOKS)[number];
  if (!LOOKS.includes(look)) throw new UsageError(`--look is one of ${LOOKS.join(', ')}, not ${look}.`);
  const width = countOf(values, 'width', 1000, 200, 20_000);
  const panel = (stringOf(values, 'panel') ?? 'timing') as Panel;
  if (!PANELS.includes(panel)) throw new UsageError(`--panel is one of ${PANELS.join(', ')}, not ${panel}.`);
  const at = stringOf(values, 'at') ?? '0 s';
  const time = parseTime(at);
  if (time === null) throw new UsageError(`--at wants a time with its unit, such as "1.2 s", not ${at}.`);
  const inputs = openInputs(io, words, inputOptions(values));
  const { facts, input } = selectRig(inputs, stringOf(values, 'rig'));
  const stroke = selectStroke(facts, stringOf(values, 'trigger'));
  const scenario = selectScenario(facts.rig, stringOf(values, 'scenario'));
  const curves = (stringOf(values, 'curves') ?? 'run') as Curves;
  if (!CURVES.includes(curves)) throw new UsageError(`--curves is one of ${CURVES.join(', ')}, not ${curves}.`);
  const picture = pictureOf(facts, panel, { look, width, stroke, scenario, curves, time });
  if (picture === null) {
    io.err(`${facts.rig.name}: ${whyNone(facts, panel, scenario)}\n`);
    return 1;
  }
  const svg = noted(noted(picture, overrideNote(input.document.resolved())), caution());
  const data = kind === 'png' ? await svgToPng(svg, width) : svg;
  if (out === '-') io.out(data);
  else io.write(out, data);
  return blockingErrors(io, inputs);
}

function whyNone(facts: RigFacts, panel: Panel, scenario: Scenario | null): string {
  if (scenario && scenario.duration === null)
    return `scenario ${scenario.name} states no duration, so there is no end to draw it to: write "for 10 min", for one.`;
  if (panel === 'store') return whyNoStores(facts);
  if (scenario && panel !== 'section') return `scenario ${scenario.name} turns nothing that could be drawn.`;
  return `there is no ${panel} to draw.`;
}
