/** Words that people use in the place of those of the language; only for suggestions. Plain data, imports nothing. */
import { say } from '../say';

/** Words in the place of a keyword → the keyword that is meant; only for suggestions. */
export const STATEMENT_SLIPS: ReadonlyMap<string, string> = new Map([
  ...['valve', 'gate', 'hatch', 'leaf', 'slide', 'shutter', 'flap', 'damper'].map((w) => [w, 'door'] as const),
  ...['tank', 'vessel', 'room', 'volume', 'receiver', 'reservoir', 'store', 'bottle', 'sump'].map(
    (w) => [w, 'chamber'] as const,
  ),
  ...['pump', 'source', 'supply_line', 'compressor', 'fill', 'blower', 'fan'].map((w) => [w, 'feed'] as const),
  ...['sink', 'drain', 'consumer', 'outlet', 'load'].map((w) => [w, 'draw'] as const),
  ...['const', 'var', 'constant', 'def', 'define', 'set'].map((w) => [w, 'let'] as const),
  ...['timer', 'relay', 'coil', 'logic', 'wire'].map((w) => [w, 'signal'] as const),
  ...['button', 'input', 'toggle', 'lever'].map((w) => [w, 'switch'] as const),
  ...['output', 'actuate', 'move', 'control'].map((w) => [w, 'drive'] as const),
  ...['gauge', 'transmitter', 'detector'].map((w) => [w, 'sensor'] as const),
  ...['assert', 'expect', 'test', 'ensure', 'requirement'].map((w) => [w, 'require'] as const),
  ...['include', 'use', 'using'].map((w) => [w, 'import'] as const),
  ...['module', 'component', 'macro', 'function'].map((w) => [w, 'part'] as const),
  ...['fluid', 'substance', 'material'].map((w) => [w, 'medium'] as const),
  ...['plc', 'cpu'].map((w) => [w, 'controller'] as const),
  ...['steps', 'program'].map((w) => [w, 'sequence'] as const),
]);

/** Words that begin a line in other languages → how the same is written here. */
export const STATEMENT_HINTS: ReadonlyMap<string, () => string> = new Map([
  ...['if', 'when', 'while', 'open', 'close'].map(
    (w) => [w, () => say`what opens a door is written drive DOOR = EXPRESSION`] as const,
  ),
  ...['at', 'after', 'repeat'].map(
    (w) => [w, () => say`steps stand in the braces of a sequence or a scenario`] as const,
  ),
  ...['wait', 'delay', 'sleep'].map(
    (w) => [w, () => say`a delay is a call, such as signal NAME = TON(SIGNAL, 2 s)`] as const,
  ),
  ...['vent', 'relief', 'exhaust', 'bleed'].map(
    (w) =>
      [w, () => say`a vent is a door that leads outside: door NAME, and stack CHAMBER > NAME > atmosphere`] as const,
  ),
  ...['pipe', 'line', 'connect', 'path'].map(
    (w) => [w, () => say`what joins chambers through doors is written stack CHAMBER > DOOR > CHAMBER`] as const,
  ),
]);

/** Properties by other words → those that may be meant; only for suggestions. */
export const PROPERTY_SLIPS: ReadonlyMap<string, readonly string[]> = new Map([
  ['diameter', ['bore']],
  ['dia', ['bore']],
  ['size', ['bore', 'volume']],
  ['time', ['travel', 'response']],
  ['stroke_time', ['travel']],
  ['speed', ['travel']],
  ['duration', ['travel']],
  ['open_time', ['opens_in']],
  ['close_time', ['closes_in']],
  ['opening_time', ['opens_in']],
  ['closing_time', ['closes_in']],
  ['capacity', ['volume']],
  ['vol', ['volume', 'pocket']],
  ['volume', ['pocket']],
  ['dead_volume', ['clearance']],
  ['max', ['limit']],
  ['maximum', ['limit']],
  ['max_pressure', ['limit']],
  ['flow', ['rate']],
  ['flowrate', ['rate']],
  ['temp', ['temperature']],
  ['height', ['level', 'elevation']],
  ['depth', ['level']],
  ['p', ['pressure']],
  ['t', ['temperature']],
  ['default', ['rest']],
  ['normally', ['rest']],
  ['force', ['thrust']],
  ['watts', ['power']],
  ['cycle', ['scan']],
  ['scan_time', ['scan']],
  ['delay', ['response']],
  ['accuracy', ['timer_accuracy']],
  ['tolerance', ['timer_accuracy']],
  ['hysteresis', ['clears']],
  ['reset', ['clears']],
  ['gamma', ['heat_ratio']],
  ['kappa', ['heat_ratio']],
  ['molecular_weight', ['molar_mass']],
  ['molar_weight', ['molar_mass']],
  ['cd', ['discharge']],
]);
