/** Whatever is written, flow gives facts or messages: it never throws, hangs or says NaN. */
import { readdirSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { resolveFile } from '../../server/core/model/resolve';
import { flowJson } from '../../server/core/report/flow-json';
import { flowTable } from '../../server/core/report/flow-table';
import { runChecks } from '../../server/core/checks/registry';
import { analyseRig } from '../../server/core/run/analyse';

const SAMPLES = resolve(__dirname, '..', '..', 'samples');
const texts = readdirSync(SAMPLES)
  .filter((f) => f.endsWith('.rig'))
  .map((f) => readFileSync(resolve(SAMPLES, f), 'utf8'));
const SEED = 41_026;
/** Changed texts tried; many more with FLOW_TEXTS. */
const TEXTS = Number(process.env.FLOW_TEXTS ?? 40);

/** Everything about flow of a text, as text. */
function flowOf(text: string): string {
  const { tree } = parse(text);
  const resolution = resolveFile({ uri: 'file:///x.rig', tree, text }, () => null);
  return resolution.rigs
    .map((rig) => {
      const facts = analyseRig(rig);
      const problems = runChecks({ rig, facts, resolution, text: () => text, tree: () => undefined }).filter((p) =>
        p.code.startsWith('flow/'),
      );
      return [JSON.stringify(flowJson(facts)), ...flowTable(facts), ...problems.map((p) => p.message)].join('\n');
    })
    .join('\n');
}

/** A number that makes little sense: nothing, very little, very much. */
const odd = fc.constantFrom('0', '1e-9', '0.001', '1', '1000', '1000000', '7e9');

describe('flow of broken rigs', () => {
  it('any line left out', () => {
    for (const text of texts.slice(0, 2)) {
      const lines = text.split('\n');
      lines.forEach((line, k) => {
        const found = flowOf(lines.filter((_, j) => j !== k).join('\n'));
        expect(found, line).not.toMatch(/NaN|undefined/);
      });
    }
  });

  it('any numbers replaced by odd ones', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...texts),
        fc.array(fc.tuple(fc.nat(), odd), { minLength: 1, maxLength: 3 }),
        (text, changes) => {
          let changed = text;
          for (const [where, number] of changes) {
            const numbers = [
              ...changed.matchAll(/(?<=[\s(])\d+(?:\.\d+)?(?=\s+(?:m3|L|bar|kg|kg\/s|g\/s|m2|mm|m|W|kg\/m3|GPa|%)\b)/g),
            ];
            const match = numbers[where % numbers.length];
            if (match) changed = changed.slice(0, match.index) + number + changed.slice(match.index + match[0].length);
          }
          expect(flowOf(changed)).not.toMatch(/NaN|undefined|\[object/);
        },
      ),
      { seed: SEED, numRuns: TEXTS },
    );
  }, 300_000);
});
