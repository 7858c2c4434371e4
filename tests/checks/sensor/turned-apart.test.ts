/** A sensor is turned round by a fix only where its text and both of its values are written in one file. */
import { expect, it } from 'vitest';
import { parse } from '../../../grammar/src/api';
import { runChecks } from '../../../server/core/checks/registry';
import { createImports } from '../../../server/core/document/imports';
import { resolveFile } from '../../../server/core/model/resolve';
import { analyseRig } from '../../../server/core/run/analyse';
import { changed, GAS_BANK } from '../rigs';

const HERE = 'file:///yard/bank.rig';
const LIBRARY = 'file:///yard/sensors.rig';

const LOW = changed(
  GAS_BANK,
  [
    'sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }',
    'place g = gauge(receiver, 1.3 bar, 1.5 bar)',
  ],
  ['receiver  { volume 6 m3    pressure 1.02 bar', 'receiver  { volume 6 m3    pressure 1.6 bar'],
  ['run and ready and', 'run and g.ready and'],
);
const PART = `part gauge(tank, low, high) {
  sensor ready on tank { pressure below low  clears above high }
}
`;

/** Titles of the fixes of `sensor/inverted`. */
function offered(texts: Readonly<Record<string, string>>): string[] {
  const read = (uri: string): string | undefined => texts[uri];
  const text = texts[HERE]!;
  const { tree, problems } = parse(text);
  expect(problems.map((p) => p.message)).toEqual([]);
  const resolution = resolveFile({ uri: HERE, tree, text }, createImports(read).readTree);
  expect(resolution.problems.map((p) => p.message)).toEqual([]);
  const trees = (uri: string) => (read(uri) === undefined ? undefined : parse(read(uri)!).tree);
  return resolution.rigs.flatMap((rig) =>
    runChecks({ rig, facts: analyseRig(rig), resolution, text: read, tree: trees })
      .filter((p) => p.code === 'sensor/inverted')
      .flatMap((p) => ['found', ...(p.fixes ?? []).map((fix) => fix.title)]),
  );
}

it('is turned where the part and its values are in one file', () =>
  expect(offered({ [HERE]: PART + LOW })).toEqual(['found', 'Turn g.ready round']));

it('is left alone where the values are in another file than the part', () =>
  expect(offered({ [HERE]: `import "sensors.rig"\n${LOW}`, [LIBRARY]: PART })).toEqual(['found']));
