/** The source of an exported C program: elements, instants of either style, step. */
import type { Element } from '../../model/rig';
import { expireLines, inputFunctions, lookFunction, u64 } from './c-blocks';
import { atLeastOne, type Parts } from './c-parts';
import { responseFunctions } from './c-response';
import { commentSafe } from './frame';

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
