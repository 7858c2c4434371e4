/**
 * Flow agrees with timing, trace, picture and requirements: on every sample, and on random rigs whose contents turn their sensors.
 * `FLOW_RIGS` sets how many random rigs (60 in the suite), `AGREEMENT_SEED` the first seed.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { createDocument } from '../../server/core/document/document';
import { askFollowed } from './ask-flow';
import { randomFedText } from './random-text';

const RIGS = Number(process.env['FLOW_RIGS'] ?? 60);
const FIRST = Number(process.env['AGREEMENT_SEED'] ?? 1);

const files = ['samples', 'samples/broken', 'samples/refuted'].flatMap((folder) =>
  readdirSync(folder)
    .filter((name) => name.endsWith('.rig'))
    .map((name) => join(folder, name)),
);

interface Asked {
  readonly wrong: string[];
  compared: number;
  /** Changes of sensors by contents, and movements of doors, in all scenarios followed. */
  turned: number;
  moved: number;
}

/** Everything that flow follows of a text; `more` stands at the end of each rig. */
function ask(text: string, asked: Asked): Asked {
  const document = createDocument({ uri: 'file:///rig.rig', version: 1, text }, () => undefined);
  document.analysed().forEach((facts) => {
    const { rig, timing } = facts;
    if (rig.incomplete?.length || timing.incomplete !== null || timing.atRest.loop) return;
    const that = (fine: boolean, sentence: string): void => {
      asked.compared++;
      if (!fine) asked.wrong.push(`${rig.name}: ${sentence}`);
    };
    for (const { trace } of askFollowed(that, facts)) {
      asked.turned += trace.edges.filter((e) => rig.network.nets[e.net]!.kind === 'sensor').length;
      asked.moved += trace.doors.reduce((sum, { moves }) => sum + moves.length, 0);
    }
  });
  return asked;
}

const none = (): Asked => ({ wrong: [], compared: 0, turned: 0, moved: 0 });

describe('flow agrees with timing and trace', () => {
  it.each(files)('on %s', (file) => {
    expect(ask(readFileSync(file, 'utf8'), none()).wrong).toEqual([]);
  });

  it(`on ${RIGS} random rigs whose contents turn their sensors`, { timeout: 3_600_000 }, () => {
    const asked = none();
    for (let seed = FIRST; seed < FIRST + RIGS; seed++) ask(randomFedText(seed), asked);
    if (RIGS > 60) console.log(asked.compared, asked.turned, asked.moved);
    expect([...new Set(asked.wrong)]).toEqual([]);
    expect(asked.compared).toBeGreaterThan(20 * RIGS);
    // Contents do move doors here.
    expect(asked.turned).toBeGreaterThan(RIGS);
    expect(asked.moved).toBeGreaterThan(5 * RIGS);
  });
});
