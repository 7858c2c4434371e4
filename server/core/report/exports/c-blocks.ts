/** Elements in an exported C program: their inputs, their looks as IEC 61131-3 defines the blocks, their timers. */
import { fold } from '../../model/logic';
import type { Element, Logic, Rig } from '../../model/rig';
import type { Parts } from './c-parts';
import { commentSafe } from './frame';

function expression(logic: Logic): string {
  const two = (mark: string) => (a: string, b: string) => `(${a} ${mark} ${b})`;
  return fold<string>(logic, {
    net: (net) => `s->net[${net}]`,
    const: (value) => (value ? '1' : '0'),
    not: (a) => `(!${a})`,
    and: two('&&'),
    or: two('||'),
    xor: two('!='),
  });
}

const u32 = (value: number) => `UINT32_C(${value})`;
export const u64 = (value: number) => `UINT64_C(${value})`;

export const isJoin = (e: Element) => e.kind === 'LOGIC' && e.response.nominal === 0;

/** `first` and `second` input of each element that has them, by its index. */
export function inputFunctions({ rig, name }: Parts): string[] {
  const cases = (at: 0 | 1) =>
    rig.network.elements.flatMap((e, i) =>
      e.inputs[at] ? [`  case ${i}: return (uint8_t)(${expression(e.inputs[at])}); /* ${commentSafe(e.name)} */`] : [],
    );
  const lookup = (what: string, at: 0 | 1) => {
    const body = cases(at);
    return [
      `static uint8_t ${what}(const ${name}_state *s, uint16_t e) {`,
      '  (void)s; (void)e;',
      ...(body.length === 0 ? ['  return 0;'] : ['  switch (e) {', ...body, '  default: return 0;', '  }']),
      '}',
      '',
    ];
  };
  return [...lookup('first', 0), ...(looks(rig) ? lookup('second', 1) : [])];
}

/** Whether any element has to look at its inputs, rather than just join them. */
const looks = (rig: Rig) => rig.network.elements.some((e) => rig.controller.style === 'scan' || !isJoin(e));

/** The look of one block at its inputs, as IEC 61131-3 defines the blocks: sets q and the timer. Gives 1 where q changed. */
export function lookFunction({ rig, name }: Parts): string[] {
  const { elements } = rig.network;
  if (!looks(rig)) return [];
  const scanned = rig.controller.style === 'scan';
  const body = elements.flatMap((e, i) => {
    if (!scanned && isJoin(e)) return [];
    return [`  case ${i}: /* ${commentSafe(e.name)}: ${e.kind} */`, ...blockLines(e, i, scanned), '    break;'];
  });
  return [
    `static uint8_t look(${name}_state *s, uint16_t e) {`,
    '  uint8_t x = first(s, e), y = second(s, e), q = s->q[e], rise = (uint8_t)(x && !s->before[e]), fall = (uint8_t)(!x && s->before[e]);',
    '  (void)y; (void)rise; (void)fall;',
    '  switch (e) {',
    ...body,
    '  default: break;',
    '  }',
    '  s->before[e] = x;',
    '  if (q == s->q[e]) return 0;',
    '  s->q[e] = q;',
    '  return 1;',
    '}',
    '',
  ];
}

function blockLines(e: Element, i: number, scanned: boolean): string[] {
  const start = (preset: number) => `s->timer_due[${i}] = s->now + ${u64(preset)};`;
  const stop = `s->timer_due[${i}] = UINT64_MAX;`;
  const preset = e.preset?.nominal ?? 0;
  switch (e.kind) {
    case 'LOGIC':
      return ['    q = x;'];
    case 'TON':
      if (preset === 0) return ['    q = x;'];
      return [`    if (rise) { ${start(preset)} }`, `    if (!x) { ${stop} q = 0; }`];
    case 'TOF':
      if (preset === 0) return ['    q = x;'];
      return [`    if (fall) { ${start(preset)} }`, `    if (x) { ${stop} q = 1; }`];
    case 'TP':
      if (preset === 0) return [];
      return [`    if (rise && s->timer_due[${i}] == UINT64_MAX) { ${start(preset)} q = 1; }`];
    case 'R_TRIG':
    case 'F_TRIG':
      return triggerLines(e, i, scanned);
    case 'SR':
      return ['    q = (uint8_t)(x || (!y && q));'];
    case 'RS':
      return ['    q = (uint8_t)(!y && (x || q));'];
    case 'CTU':
      // PV 0 is reached before anything is counted.
      if ((e.count ?? 0) === 0) return ['    q = 1;'];
      return [
        `    if (y) s->count[${i}] = 0; else if (rise && s->count[${i}] < ${u32(e.count ?? 0)}) s->count[${i}]++;`,
        `    q = (uint8_t)(s->count[${i}] >= ${u32(e.count ?? 0)});`,
      ];
  }
}

/** Edge detectors: one scan, one round, or one response long. F_TRIG sees its input inverted, also at its first look. */
function triggerLines(e: Element, i: number, scanned: boolean): string[] {
  const invert = e.kind === 'F_TRIG' ? ['    x = (uint8_t)!x;'] : [];
  const rising = `    rise = (uint8_t)(x && !s->before[${i}]);`;
  if (scanned || e.response.nominal === 0) return [...invert, rising, '    q = rise;'];
  return [...invert, rising, `    if (rise) { s->timer_due[${i}] = s->now + ${u64(e.response.nominal)}; q = 1; }`];
}

/** What a timer that runs out does to q. */
export function expireLines({ rig }: Parts): string[] {
  const on = rig.network.elements.flatMap((e, i) => (e.kind === 'TON' ? [`e == ${i}`] : []));
  return [`  s->timer_due[e] = UINT64_MAX;`, `  s->q[e] = ${on.length === 0 ? '0' : `(uint8_t)(${on.join(' || ')})`};`];
}
