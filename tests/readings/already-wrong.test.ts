/** What is wrong without any fault: `faults` and the build sheet say so, and count no fault for it. */
import { describe, expect, it } from 'vitest';
import { faultReport } from '../../server/core/readings/faults';
import { faultsText } from '../../server/core/report/readings-report';
import { sheetOf } from '../../server/core/report/sheet/sheet';
import { analyseRig } from '../../server/core/run/analyse';
import { mill } from '../support/mill';
import { rigOf } from '../support/rigs';

const GAP = 'gap(inlet, outlet) >= 100 ms';
const factsOf = (wait: string) => analyseRig(rigOf(mill(wait, GAP)));
const WRONG =
  'As designed the rig opens straight through inlet + outlet and does not meet gap(inlet, outlet) >= 100 ms: no fault is counted for that.';

describe('a rig that is wrong as designed', () => {
  it('says so beside the faults', () => {
    const report = faultReport(factsOf('1200 ms'))!;
    expect(report.already).toEqual({ straight: ['inlet + outlet'], broken: ['gap(inlet, outlet) >= 100 ms'] });
    expect(report.classes.flatMap((c) => [...c.straight, ...c.broken])).toEqual([]);
    expect(faultsText(report)).toContain(WRONG);
  });

  it('counts those faults where it is right', () => {
    const report = faultReport(factsOf('2200 ms'))!;
    expect(report.already).toEqual({ straight: [], broken: [] });
    expect(report.classes.flatMap((c) => c.straight)).toContain('inlet + outlet');
    expect(faultsText(report).join('\n')).not.toContain('As designed');
  });

  it('says so in the build sheet, and where the budget ended there too', () => {
    const facts = factsOf('1200 ms');
    const report = faultReport(facts, 300)!;
    expect(report.isCut).toBe(true);
    const words = sheetOf(facts, { faults: report }).blocks.flatMap((b) => (b.kind === 'text' ? [b.text] : []));
    expect(words).toContain(WRONG);
    expect(words.join('\n')).toMatch(/faults of mill were followed, and not all of them are distinguished/);
  });
});
