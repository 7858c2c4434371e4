/**
 * A pump on its curve against a published worked problem, as a whole rig. Çengel and Cimbala, Fluid Mechanics, chapter 14, the pump with
 * H = H0 − a Q² between two open reservoirs: H0 = 7.46 m, a = 0.0453 m/(L/min)², lift 3.52 m, system b = 0.0261 m/(L/min)²; the inputs
 * were seen on a page that names no book, book and chapter are from memory; the answers 7.43 L/min and 4.96 m are worked by hand:
 * Q² = (H0 − lift) / (a + b).
 */
import { expect, it } from 'vitest';
import { scenarioRun } from '../../server/core/run/scenario-run';
import { rigOf } from '../support/rigs';

const [SHUT_OFF, A, LIFT, B] = [7.46, 0.0453, 3.52, 0.0261];
const RHO = 998.2;
const G = 9.80665;

it('a pump on its curve meets its system: 7.43 L/min at 4.96 m (Çengel and Cimbala)', () => {
  // The curve in straight pieces, against the absolute pressure at the foot of a standpipe, which has no height but what the pump holds up.
  const curve = Array.from({ length: 61 }, (_, k) => {
    const flow = 12 - 0.2 * k;
    return `${(101_325 + RHO * G * (SHUT_OFF - A * flow * flow)).toFixed(1)} Pa ${flow.toFixed(1)} L/min`;
  });
  // The system's losses are those of one sharp-edged gap: h = b Q², so Cd a = Q / √(2 g h), 6.19 L/min at 1 m.
  const gap = Math.sqrt(1 / B) / 60_000 / 0.62 / Math.sqrt(2 * G);
  const text = `rig lift {
    medium cold liquid { density ${RHO} kg/m3  bulk_modulus 2.2 GPa }
    chamber standpipe { volume 100 L  floor_area 0.01 m2  level 4 m }
    chamber high      { volume 10000 m3  floor_area 10000 m2  level 0 m  elevation ${LIFT} m }
    door loss { travel 1 s  leak ${(gap * 1e6).toFixed(4)} mm2 }
    stack standpipe > loss > high
    feed pump into standpipe { curve ${curve.join(', ')} }
    switch run = off
    drive loss = run
    scenario stand { at 0 s feed pump on
      for 1 h }
  }`;
  const { final, lines, left } = scenarioRun(rigOf(text), 0)!;
  expect(left).toBeNull();
  const head = final[0]!.level!;
  expect(head).toBeCloseTo(4.96, 2);
  const flow = Math.sqrt((head - LIFT) / B);
  expect(flow).toBeCloseTo(7.43, 2);
  // What went through the pump in the hour: that flow, and what filled the pipe from 4 m on.
  expect(lines[0]! / (RHO * 60e-3 * flow)).toBeCloseTo(1, 1);
});
