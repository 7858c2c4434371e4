/** What a builder reads off the sheet: every part as stated, nothing that is not built, and steps that ask for what is there. */
import { describe, expect, it } from 'vitest';
import { pageMarkdown } from '../../../server/core/report/page/markdown';
import { settingSlack } from '../../../server/core/report/sheet/setting-slack';
import { sheetOf } from '../../../server/core/report/sheet/sheet';
import { statedOf } from '../../../server/core/report/stated';
import { analyseRig } from '../../../server/core/run/analyse';
import { rigOf } from '../../support/rigs';
import { sampleRigs } from '../../support/samples';

const LOCK = `rig kiln "Kiln lock" {
  medium nitrogen
  chamber ring   { volume 4 m3    pressure 1.05 bar  limit 3 bar }
  chamber jacket { volume 900 L   pressure 1.05 bar  limit 6 bar  limit 80 degC }
  door first { pocket 120 L  clearance 4 L  travel 300 ms  bore 200 mm  leak 1 % }
  door last  { pocket 120 L  opens_in 280 ms  closes_in 420 ms  kv 60 m3/h  xt 0.7  rest open  thrust 800 N }
  door spill { travel 500 ms  conductance 5 L/s/bar  ratio 0.3 }
  stack ring > first > last > jacket
  stack ring > spill > atmosphere
  feed pump into ring { curve 0.9 bar 20 m3/h, 2 bar 4 m3/h  only below 1.9 bar  pump_limit 0.1 kg/s }
  supply { limit 5 kW }
  controller { response 35 ms }
  switch run = off
  switch vent = off { vents ring, atmosphere }
  signal go      = run and not vent
  signal last_on = TP(F_TRIG(first_on), 1 s)
  signal first_on = TP(go, 2 s)
  drive first = first_on
  drive last  = last_on
  drive spill = vent
  require window(first) >= 1.4 s
  require window(last) >= 2 s
  require rate(jacket) >= 1 kg/s
}
`;

const printed = (text: string): string => {
  const facts = analyseRig(rigOf(text));
  return pageMarkdown(sheetOf(facts, { slack: settingSlack(facts) }));
};

describe('the parts of the build sheet', () => {
  it('give an opening in the terms in which it is bought', () => {
    const sheet = printed(LOCK);
    expect(sheet).toContain('Kv 60 m3/h, xT 0.7');
    expect(sheet).toContain('C 5 L/s/bar, b 0.3');
    // π/4 · (200 mm)² = 314.2 cm²
    expect(sheet).toContain('314.2 cm2 (round: 200 mm)');
    expect(sheet).toContain('pump: at 0.9 bar');
  });

  it.each([...sampleRigs().map((rig) => [rig.name, rig] as const), ['kiln', rigOf(LOCK)] as const])(
    'state every value of a chamber, door or line of %s',
    (_, rig) => {
      const sheet = pageMarkdown(sheetOf(analyseRig(rig))).replace(/\\/g, '');
      const kinds = new Set([...rig.chambers.filter((c) => !c.endless), ...rig.doors, ...rig.lines].map((i) => i.name));
      const values = statedOf(rig).filter((s) => s.group === 'parts' && s.named && kinds.has(s.item));
      expect(values.length).toBeGreaterThan(0);
      const missing = values.filter(({ item, property, text }) => {
        const rows = sheet.split('\n').filter((line) => line.startsWith(`| ${item} |`));
        return !/ at the start$/.test(property) && !rows.some((row) => row.includes(text));
      });
      expect(missing).toEqual([]);
    },
  );

  it('name no atmosphere among what is built, and the medium and the power line', () => {
    const sheet = printed(LOCK);
    expect(sheet).not.toMatch(/^\| atmosphere /m);
    expect(sheet).toContain('Set the chambers in place (ring, jacket)');
    expect(sheet).toContain('Medium: nitrogen (gas)');
    expect(sheet).toContain('The power line carries 5 kW');
  });
});

describe('the steps of the build sheet', () => {
  it('count no sensor where there is none, and each wire once', () => {
    const sheet = printed(LOCK);
    expect(sheet).toContain('Mount 2 switches;');
    const wires = [...sheet.matchAll(/^\| \d+ \| .* ☐ \|$/gm)].length;
    const drives = /Connect the (\d+) wires to drives/.exec(sheet)![1];
    const others = /Connect the (\d+) wires of the list/.exec(sheet)![1];
    expect(Number(drives)).toBe(3);
    expect(Number(drives) + Number(others)).toBe(wires);
  });

  it('expect the door that rests open to close as power comes', () => {
    expect(printed(LOCK)).toContain('See: last closes and stays shut; every other door is where it was');
  });

  it('speak of one door of a vent as one', () => {
    const sheet = printed(LOCK);
    expect(sheet).toContain('the door spill.');
    expect(sheet).toContain('See: spill is fully open at 500 ms');
  });

  it('of a scanned control say from when the times count', () => {
    const scanned = LOCK.replace('response 35 ms', 'scan 20 ms +- 2 ms');
    expect(printed(scanned)).toContain('at its next scan, up to 22 ms later');
    expect(printed(LOCK)).not.toContain('next scan');
  });
});

describe('how far a setting may be off', () => {
  it('names both sides, and the requirements that it does not answer for', () => {
    const sheet = printed(LOCK);
    // first opens for 2 s of drive less 300 ms of travel: 1.7 s, 300 ms more than is asked.
    expect(sheet).toMatch(
      /first\\_on \| TP \| PT 2 s \| longer: [^|;]+; up to 300 ms shorter \(window\(first\) \\>= 1\.4 s\)/,
    );
    expect(sheet).toMatch(/does not answer for .*window\(last\) \\>= 2 s; rate\(jacket\) \\>= 1 kg\/s/);
  });
});
