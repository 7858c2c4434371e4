/** The source of an exported C program: inputs of elements, looks of blocks, rounds and instants, step. */
import { fold } from '../../model/logic';
import type { Element, Logic, Rig } from '../../model/rig';
import { compileProgram } from '../../timing/program';
import { atLeastOne, QUEUE, type Parts } from './c-parts';
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
const u64 = (value: number) => `UINT64_C(${value})`;

const isJoin = (e: Element) => e.kind === 'LOGIC' && e.response.nominal === 0;

export function sourceBody(p: Parts): string[] {
  const { name } = p;
  return [
    `#include "${name}.h"`,
    '',
    ...inputFunctions(p),
    ...(p.rig.controller.style === 'scan' ? scanFunctions(p) : responseFunctions(p)),
    ...stepFunctions(p),
  ];
}

/** `first` and `second` input of each element that has them, by its index. */
function inputFunctions({ rig, name }: Parts): string[] {
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
function lookFunction({ rig, name }: Parts): string[] {
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
function expireLines({ rig }: Parts): string[] {
  const on = rig.network.elements.flatMap((e, i) => (e.kind === 'TON' ? [`e == ${i}`] : []));
  return [`  s->timer_due[e] = UINT64_MAX;`, `  s->q[e] = ${on.length === 0 ? '0' : `(uint8_t)(${on.join(' || ')})`};`];
}

function outputLines(p: Parts): string[] {
  return p.outputs.map(
    (o, i) =>
      `  out[${i}] = (uint8_t)(!s->fault && (${o.nets.map((net) => `s->net[${net}]`).join(' || ')})); /* ${commentSafe(o.name)} */`,
  );
}

function scanFunctions(p: Parts): string[] {
  const { rig, name } = p;
  const { elements } = rig.network;
  const timed = (e: Element) => e.preset !== null && e.preset.nominal > 0;
  return [
    ...lookFunction(p),
    ...(elements.some(timed) ? [`static void expire(${name}_state *s, uint16_t e) {`, ...expireLines(p), '}', ''] : []),
    '/* One scan: inputs are read, elements evaluated in written order, timers seen at this instant. */',
    `static void instant(${name}_state *s, uint64_t t) {`,
    '  s->now = t;',
    ...p.inputs.map((net, i) => `  s->net[${net}] = s->latched[${i}];`),
    ...elements.flatMap((e, i) => [
      `  look(s, ${i});`,
      ...(timed(e) ? [`  if (s->timer_due[${i}] <= t) expire(s, ${i});`] : []),
      `  s->net[${e.net}] = s->q[${i}];`,
    ]),
    `  s->next_scan = t + ${u64(Math.max(1, rig.controller.time.nominal))};`,
    '}',
    '',
    `uint64_t ${name}_next(const ${name}_state *s) {`,
    '  return s->next_scan;',
    '}',
    '',
  ];
}

function responseFunctions(p: Parts): string[] {
  const { rig } = p;
  const { elements } = rig.network;
  const hasResponse = elements.some((e) => e.response.nominal > 0);
  return [
    ...netTable(p),
    ...lookFunction(p),
    ...(hasResponse ? putFunction(p) : []),
    ...settleFunction(p),
    ...(hasResponse ? arriveFunction(p) : []),
    ...roundsFunction(p, hasResponse),
    ...instantFunction(p),
    ...nextFunction(p, hasResponse),
  ];
}

function netTable({ rig }: Parts): string[] {
  const nets = rig.network.elements.map((e) => e.net);
  const responses = rig.network.elements.map((e) => u64(e.response.nominal));
  if (!rig.network.elements.some((e) => e.response.nominal > 0)) return [];
  return [
    `static const uint16_t net_of[${nets.length}] = { ${nets.join(', ')} };`,
    `static const uint64_t response_of[${nets.length}] = { ${responses.join(', ')} };`,
    '',
  ];
}

/** A change on its way through a response. Changes of one element alternate, so their times are enough. */
function putFunction({ name }: Parts): string[] {
  return [
    `static void put(${name}_state *s, uint16_t e) {`,
    `  if (s->changes[e] >= ${QUEUE}) { s->fault = 1; return; }`,
    '  s->change_due[e][s->changes[e]] = s->now + response_of[e];',
    '  s->changes[e]++;',
    '}',
    '',
  ];
}

function settleFunction({ rig, name }: Parts): string[] {
  const joins = rig.network.elements.flatMap((e, i) => (isJoin(e) ? [{ e, i }] : []));
  if (joins.length === 0) return [];
  return [
    '/* Joins settle: elements with no response that hold no state. */',
    `static void settle(${name}_state *s) {`,
    '  uint16_t pass;',
    '  uint8_t changed = 1, v;',
    `  for (pass = 0; changed; pass++) {`,
    `    if (pass > ${joins.length + 2}) { s->fault = 1; return; }`,
    '    changed = 0;',
    ...joins.map(
      ({ e, i }) => `    v = first(s, ${i}); if (v != s->net[${e.net}]) { s->net[${e.net}] = v; changed = 1; }`,
    ),
    '  }',
    '}',
    '',
  ];
}

/** Two changes of one moment are a pulse of no width, which starts what looks for an edge: each has a round of its own. */
function arriveFunction({ rig, name }: Parts): string[] {
  const isDue = 's->changes[e] > 0 && s->change_due[e][0] == s->now';
  return [
    '/* The first change of each net that comes out of its response now; gives 1 where another of the same net waits for the next round. */',
    `static uint8_t arrive(${name}_state *s) {`,
    '  uint16_t e;',
    '  uint8_t k, more = 0;',
    `  for (e = 0; e < ${rig.network.elements.length}; e++) {`,
    `    if (!(${isDue})) continue;`,
    '    s->net[net_of[e]] = (uint8_t)!s->net[net_of[e]];',
    '    s->changes[e]--;',
    '    for (k = 0; k < s->changes[e]; k++) s->change_due[e][k] = s->change_due[e][k + 1];',
    `    if (${isDue}) more = 1;`,
    '  }',
    '  return more;',
    '}',
    '',
  ];
}

function roundsFunction({ rig, name }: Parts, hasResponse: boolean): string[] {
  const { elements } = rig.network;
  const joins = elements.some(isJoin);
  const lookers = elements.flatMap((e, i) => (isJoin(e) ? [] : [{ e, i }]));
  const prompt = lookers.filter(({ e }) => e.response.nominal === 0);
  const lookLines = lookers.map(({ e, i }) =>
    e.response.nominal === 0 ? `    look(s, ${i});` : `    if (look(s, ${i})) put(s, ${i});`,
  );
  const apply = prompt.map(
    ({ e, i }) => `    if (s->net[${e.net}] != s->q[${i}]) { s->net[${e.net}] = s->q[${i}]; changed = 1; }`,
  );
  return [
    '/* Rounds: joins settle, everything else looks once, what that changes with no response begins the next round. */',
    `static void rounds(${name}_state *s) {`,
    '  uint16_t round;',
    '  uint8_t changed = 1;',
    '  for (round = 0; changed && !s->fault; round++) {',
    `    if (round > ${64 + 4 * elements.length}) { s->fault = 1; return; }`,
    hasResponse ? '    changed = arrive(s);' : '    changed = 0;',
    ...(joins ? ['    settle(s);'] : []),
    ...lookLines,
    ...apply,
    '  }',
    '}',
    '',
  ];
}

/** Elements with a timer, those that feed others first: the engine's own order. */
function timersInOrder(rig: Rig): number[] {
  const { dueRank } = compileProgram(rig);
  const isTimed = (e: Element) => (e.preset?.nominal ?? 0) > 0 || (/_TRIG$/.test(e.kind) && e.response.nominal > 0);
  const timed = rig.network.elements.flatMap((e, i) => (isTimed(e) ? [i] : []));
  return timed.sort((a, b) => dueRank[a]! - dueRank[b]! || a - b);
}

function instantFunction(p: Parts): string[] {
  const { rig, name } = p;
  const { elements } = rig.network;
  const order = timersInOrder(rig);
  const expiries = order.flatMap((i) => {
    const e = elements[i]!;
    const after = e.response.nominal === 0 ? `s->net[${e.net}] = s->q[${i}];` : `put(s, ${i});`;
    return [`  if (s->timer_due[${i}] == t && expire(s, ${i})) { ${after} rounds(s); }`];
  });
  return [
    ...(order.length === 0
      ? []
      : [
          '/* A timer runs out; gives 1 where q changed. */',
          `static uint8_t expire(${name}_state *s, uint16_t e) {`,
          '  uint8_t was = s->q[e];',
          ...expireLines(p),
          '  return (uint8_t)(was != s->q[e]);',
          '}',
          '',
        ]),
    `static void instant(${name}_state *s, uint64_t t) {`,
    '  s->now = t;',
    ...p.inputs.map((net, i) => `  s->net[${net}] = s->latched[${i}];`),
    '  rounds(s);',
    '  /* Timers that are due end one after the other, those that feed others first. */',
    ...expiries,
    '  s->fresh = 0;',
    '}',
    '',
  ];
}

function nextFunction({ rig, name }: Parts, hasResponse: boolean): string[] {
  const { elements } = rig.network;
  const loop =
    elements.length === 0
      ? []
      : [
          `  for (e = 0; e < ${elements.length}; e++) {`,
          '    if (s->timer_due[e] < next) next = s->timer_due[e];',
          ...(hasResponse
            ? ['    if (s->changes[e] > 0 && s->change_due[e][0] < next) next = s->change_due[e][0];']
            : []),
          '  }',
        ];
  return [
    `uint64_t ${name}_next(const ${name}_state *s) {`,
    '  uint64_t next = UINT64_MAX;',
    ...(elements.length === 0 ? [] : ['  uint16_t e;']),
    '  if (s->fresh) return s->now;',
    '  if (s->fault) return UINT64_MAX;',
    ...loop,
    '  return next;',
    '}',
    '',
  ];
}

function stepFunctions(p: Parts): string[] {
  const { rig, name } = p;
  const scanned = rig.controller.style === 'scan';
  const elements = rig.network.elements.length;
  const latch = p.inputs.map((_, i) => `  s->latched[${i}] = (uint8_t)(in[${i}] != 0);`);
  const atOnce = scanned ? `  if (s->next_scan == now) instant(s, now);` : '  instant(s, now);';
  return [
    `void ${name}_init(${name}_state *s, uint64_t now) {`,
    `  static const ${name}_state zero;`,
    '  uint16_t e;',
    '  *s = zero;',
    '  s->now = now;',
    ...(scanned ? ['  s->next_scan = now;'] : []),
    '  s->fresh = 1;',
    `  for (e = 0; e < ${atLeastOne(elements)}; e++) s->timer_due[e] = UINT64_MAX;`,
    '}',
    '',
    `void ${name}_step(${name}_state *s, uint64_t now, const uint8_t *in, uint8_t *out) {`,
    '  uint64_t t;',
    ...(p.inputs.length === 0 ? ['  (void)in;'] : []),
    ...(p.outputs.length === 0 ? ['  (void)out;'] : []),
    `  if (!s->fresh) for (t = ${name}_next(s); t < now; t = ${name}_next(s)) instant(s, t);`,
    ...latch,
    '  s->fresh = 0;',
    atOnce,
    '  s->now = now;',
    ...outputLines(p),
    '}',
  ];
}
