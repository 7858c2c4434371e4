/** Instants of an exported C program whose elements respond at their own times: changes under way, joins, rounds, timers that run out. */
import type { Element, Rig } from '../../model/rig';
import { compileProgram } from '../../timing/program';
import { expireLines, isJoin, lookFunction, u64 } from './c-blocks';
import { QUEUE, type Parts } from './c-parts';

export function responseFunctions(p: Parts): string[] {
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
