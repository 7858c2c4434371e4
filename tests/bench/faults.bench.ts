/** `caisson faults` of chains of timers: seconds of one report and how they grow with the rig, beside an analysis of the same rig. */
import { faultReport } from '../../server/core/readings/faults';
import { analyseRig } from '../../server/core/run/analyse';
import { createDocument } from '../../server/core/document/document';

function chain(signals: number): string {
  const doors = 8;
  const names = Array.from({ length: doors }, (_, k) => `d${k}`);
  return `rig chain {
  medium air
  chamber a { volume 4 m3  pressure 2 bar }
  chamber b { volume 1 m3  pressure 1 bar }
${names.map((d) => `  door ${d} { pocket 20 L  travel 250 ms }`).join('\n')}
  stack a > ${names.join(' > ')} > b
  controller { response 20 ms }
  switch go = off
  signal s0 = TP(go, 700 ms)
${Array.from({ length: signals - 1 }, (_, k) => `  signal s${k + 1} = TOF(TON(s${k}, 300 ms), ${417 + 17 * k} ms)`).join('\n')}
${names.map((d, k) => `  drive ${d} = s${Math.min(2 * k + 1, signals - 1)}`).join('\n')}
  require overlap(d0, d1) >= 0 ms
}
`;
}

for (const signals of [6, 11, 21, 41]) {
  const document = createDocument({ uri: 'file:///bench.rig', version: 0, text: chain(signals) }, () => undefined);
  const facts = document.analysed()[0]!;
  const elements = facts.rig.network.elements.length;
  const before = performance.now();
  analyseRig(facts.rig);
  const analysis = performance.now() - before;
  const start = performance.now();
  const report = faultReport(facts)!;
  const took = performance.now() - start;
  console.log(
    `${elements} elements, ${report.effects.length} faults in ${report.classes.length} classes: ${(took / 1000).toFixed(2)} s, ${(took / analysis / report.effects.length).toFixed(2)} analyses a fault`,
  );
}
