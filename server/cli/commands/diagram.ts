/** `caisson diagram`: the timing diagram as SVG or PNG. */
import { timingModel } from '../../core/diagram/timing/model';
import { renderTimingSvg } from '../../core/diagram/timing/svg';
import { openInputs } from '../inputs';
import { UsageError } from '../io';
import { selectRig, selectStroke } from '../select';
import { svgToPng } from '../png';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { blockingErrors } from './blocking';

const LOOKS = ['light', 'dark', 'print'] as const;

export const diagram: Command = {
  name: 'diagram',
  words: 'FILE|-',
  summary: 'the timing diagram as SVG or PNG',
  help: [
    '--out FILE              write to a file (.svg or .png); default: SVG to standard output',
    '--format FORMAT         svg or png (default: by the ending of --out)',
    '--look LOOK             light (default), dark or print',
    '--width PIXELS          width of the picture (default 1000)',
    '--rig NAME              which rig, where the file has several',
    '--trigger SENSOR        which stroke, where several sensors start one',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    out: { type: 'string', short: 'o' },
    format: { type: 'string' },
    look: { type: 'string' },
    width: { type: 'string' },
    rig: { type: 'string' },
    trigger: { type: 'string' },
  },
  async run(io, words, values) {
    const out = stringOf(values, 'out') ?? '-';
    const kind = stringOf(values, 'format') ?? (out.endsWith('.png') ? 'png' : 'svg');
    if (kind !== 'svg' && kind !== 'png') throw new UsageError(`--format is svg or png, not ${kind}.`);
    const look = (stringOf(values, 'look') ?? 'light') as (typeof LOOKS)[number];
    if (!LOOKS.includes(look)) throw new UsageError(`--look is one of ${LOOKS.join(', ')}, not ${look}.`);
    const width = Number(stringOf(values, 'width') ?? '1000');
    if (!Number.isInteger(width) || width < 200 || width > 20_000)
      throw new UsageError('--width wants a whole number from 200 to 20000.');
    const inputs = openInputs(io, words, inputOptions(values));
    const { facts } = selectRig(inputs, stringOf(values, 'rig'));
    const stroke = selectStroke(facts, stringOf(values, 'trigger'));
    const svg = renderTimingSvg(timingModel(facts, stroke), { look, width });
    const data = kind === 'png' ? await svgToPng(svg, width) : svg;
    if (out === '-') io.out(data);
    else io.write(out, data);
    return blockingErrors(io, inputs);
  },
};
