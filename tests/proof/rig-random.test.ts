/**
 * The proof engine against an independent exhaustive exploration on small random rigs with exact times: proved must mean that no
 * run breaks the property, refuted that some run does. Seeded: the seed stands in the test's name. `PROOF_SEED`, `PROOF_RIGS` and
 * `PROOF_STATES` (states of the exhaustive exploration) make other and longer runs.
 */
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { createProof, type ProofVerdict } from '../../server/core/proof/prove';
import { initialInputs } from '../../server/core/timing/engine';
import { seededRandom } from '../../server/core/timing/tolerance';
import { randomProperties, randomSmallRig, rigWords } from '../support/random-rig';
import { truths } from '../support/trackers';

const SEED = Number(process.env['PROOF_SEED'] ?? 20260);
const RIGS = Number(process.env['PROOF_RIGS'] ?? 320);
const STATES = Number(process.env['PROOF_STATES'] ?? 1_200);

interface Tally {
  proved: number;
  refuted: number;
  undecided: number;
  tooLarge: number;
}

describe(`proof against exhaustive exploration, ${RIGS} rigs, seed ${SEED}`, () => {
  it('agrees wherever both decide', { timeout: 3_600_000 }, () => {
    const random = seededRandom(SEED);
    const tallies = new Map<string, Tally>();
    const reasons = new Map<string, number>();
    for (let k = 0; k < RIGS; k++) {
      const rig = randomSmallRig(random);
      const properties = randomProperties(random, rig);
      const proof = createProof(rig, properties, { initial: initialInputs(rig) });
      while (!proof.run(200) && proof.explored < 1_200);
      const truth = truths(rig, properties, STATES);
      proof.results().forEach(({ property, verdict }, p) => {
        const tally = tallies.get(property.kind) ?? { proved: 0, refuted: 0, undecided: 0, tooLarge: 0 };
        tallies.set(property.kind, tally);
        if (truth[p] === null) tally.tooLarge++;
        else tally[verdict.state]++;
        if (truth[p] !== null) compare(`rig ${k}: ${rigWords(rig)} ${words(property)}`, verdict, truth[p]!, reasons);
      });
    }
    if (process.env['PROOF_SEED'] ?? process.env['PROOF_RIGS']) console.log(tallies, reasons);
    const all = [...tallies.values()];
    const sum = (of: keyof Tally): number => all.reduce((total, tally) => total + tally[of], 0);
    expect(sum('proved')).toBeGreaterThan(RIGS / 5);
    expect(sum('refuted')).toBeGreaterThan(RIGS / 5);
    expect(sum('undecided')).toBeLessThan((sum('proved') + sum('refuted')) / 5);
  });
});

describe('doors that an input drives itself, without an element between', () => {
  it('are followed as the exhaustive exploration follows them', { timeout: 600_000 }, () => {
    const random = seededRandom(SEED + 1);
    const reasons = new Map<string, number>();
    let compared = 0;
    for (let k = 0; k < RIGS / 8; k++) {
      const drawn = randomSmallRig(random);
      // A scanned controller always has an element between: its doors are driven at scans.
      if (drawn.controller.style === 'scan') continue;
      const inputs = [...drawn.sensors, ...drawn.switches];
      const rig: Rig = {
        ...drawn,
        drives: drawn.drives.map((x, d) => (d === k % 2 ? { ...x, net: inputs[k % inputs.length]!.net } : x)),
      };
      const properties = randomProperties(random, rig).filter(({ kind }) => kind !== 'switched-off');
      const proof = createProof(rig, properties, { initial: initialInputs(rig) });
      while (!proof.run(200) && proof.explored < 400);
      const truth = truths(rig, properties, STATES);
      proof.results().forEach(({ property, verdict }, p) => {
        if (truth[p] === null) return;
        compared++;
        compare(`rig ${k}: ${rigWords(rig)} ${words(property)}`, verdict, truth[p]!, reasons);
      });
    }
    if (process.env['PROOF_SEED'] ?? process.env['PROOF_RIGS']) console.log(compared, reasons);
    expect(compared).toBeGreaterThan(RIGS / 4);
  });
});

const words = (property: object): string =>
  JSON.stringify(property, (_, value: unknown) => (value instanceof Map ? [...value] : value));

function compare(what: string, verdict: ProofVerdict, broken: boolean, reasons: Map<string, number>): void {
  if (verdict.state === 'undecided') {
    const reason = `${verdict.reason} (${broken ? 'broken' : 'sound'})`;
    reasons.set(reason, (reasons.get(reason) ?? 0) + 1);
  } else expect(verdict.state, what).toBe(broken ? 'refuted' : 'proved');
}
