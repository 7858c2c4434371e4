/** Moments in pictures: those that contents bring about are shown no finer than they are known, all others exactly. */
import { describe, expect, it } from 'vitest';
import { analyseRig } from '../../server/core/run/analyse';
import { timingModels } from '../../server/core/diagram/timing/model';
import { renderTimingSvg } from '../../server/core/diagram/timing/svg';
import { storeModels } from '../../server/core/diagram/store/model';
import { rigFrom } from '../support/rig';

// 1 m3 of air at 1 bar, 23.456789 g/s brought: 1.2 bar after some 10.1 s, at no round moment.
const rigOf = (contents: string): string => `rig r {
  ${contents}
  chamber tank { volume 1 m3  pressure 1 bar }
  chamber side { volume 1 m3  pressure 1 bar }
  door a { pocket 10 L  travel 0.250125 s }
  door b { pocket 10 L  travel 0.250125 s }
  stack tank > a > b > side
  switch s = off
  controller { response 0.0205 s }
  sensor high on tank { pressure above 1.2 bar  clears below 1.19 bar }
  drive a = TP(high, 1.3 s)
  drive b = TP(s, 1.3 s)
  require gap(a, b) >= 1 s
  scenario fill { ${contents === '' ? 'at 3 s sensor high on' : 'at 0 s feed blower on'}  at 0.5 s switch s on  for 30 s }
}`;
const WITH_CONTENTS = rigOf('medium air\n  feed blower into tank { rate 0.023456789 kg/s }');
const WITHOUT = rigOf('');

const FINE = /\d\.\d{4,} m?s/;
const facts = (text: string) => analyseRig(rigFrom(text).rig);
const picture = (text: string, name: string) => timingModels(facts(text)).find((m) => m.id === `r/${name}`)!;

/** All texts of a picture that name a moment: tables without the reasons (which add up responses and presets), marks, ruler. */
function moments(text: string, name: string): string[] {
  const model = picture(text, name);
  const [doors, ...others] = model.tables.map(({ rows }) => rows.map((r) => r.cells));
  const changes = others.pop();
  const between = others.flat();
  const cells = [
    ...doors!.flatMap((row) => row.slice(1, 5)),
    ...between.flatMap((row) => row.slice(2, 4)),
    ...changes!.map(([t]) => t!),
  ];
  const ruler = [...renderTimingSvg(model, { range: { from: 0, to: model.end } }).matchAll(/>(−?[\d.]+ m?s)</g)].map(
    (m) => m[1]!,
  );
  return [...cells, ...ruler];
}

describe('moments of a picture', () => {
  it('that contents bring about stand to the millisecond', () => {
    const model = picture(WITH_CONTENTS, 'scenario fill');
    const trips = model.lanes.find(({ id }) => id === 'net:high')!.edges[0]!;
    // The run has it finer, and the text does not say so.
    expect(trips.t % 1000).not.toBe(0);
    expect(moments(WITH_CONTENTS, 'scenario fill').filter((text) => FINE.test(text))).toEqual([]);
    expect(moments(WITH_CONTENTS, 'scenario fill').length).toBeGreaterThan(20);
  });

  it('and those that only the text decides stand exactly', () => {
    expect(moments(WITHOUT, 'scenario fill')).toContain('770.625 ms');
    expect(moments(WITHOUT, 'high on')).toContain('270.625 ms');
  });

  it('in the curves of a run too', () => {
    const rows = storeModels(facts(WITH_CONTENTS)).flatMap(({ tables }) => tables.at(-1)!.rows);
    expect(rows.length).toBeGreaterThan(10);
    expect(rows.filter(({ cells }) => FINE.test(cells[0]!))).toEqual([]);
  });
});
